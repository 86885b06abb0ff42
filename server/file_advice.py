"""What to tell a person about a file that could not be read or written."""

from __future__ import annotations

import errno

from server.whole_file import FileNotWritten


def not_written_sentence(failure: FileNotWritten) -> str:
    """Say whose fault it is and what to do, in one sentence."""
    return f"{failure.path} was not written: {_clause(failure.cause)}."


def cause_of(error: Exception) -> str:
    """Name what kept a file from being worked on, as the error has it, in a clause."""
    return str(getattr(error, "problem", None) or getattr(error, "strerror", None) or error)


def _clause(cause: OSError) -> str:
    match cause.errno:
        case errno.EEXIST:
            return "there is already a file of that name; choose another name, or add --force to replace it"
        case errno.EISDIR:
            return "it is a folder; name a file"
        case errno.ENOENT | errno.ENOTDIR:
            return "its folder is not there; make it first, or choose another"
        case errno.ENOSPC | errno.EDQUOT | errno.EFBIG:
            return "the disk is full; free some space, or choose another place"
        case errno.EACCES | errno.EPERM | errno.EROFS:
            return "this folder cannot be written to; choose another"
        case _:
            return f"{cause.strerror or cause}; choose another place"
