"""What a failing disk means to a person, as a clause and what to do, without the full stop."""

from __future__ import annotations

import errno


def disk_advice(cause: OSError) -> str:
    """Say whose fault it is and what to do."""
    match cause.errno:
        case errno.ENOSPC | errno.EDQUOT | errno.EFBIG:
            return "the disk is full. Free some space, or choose another folder with --folder"
        case errno.EACCES | errno.EPERM | errno.EROFS:
            return "this folder cannot be written to. Choose another with --folder"
        case errno.ENOENT | errno.ENODEV | errno.EIO | errno.ENXIO | errno.ESTALE:
            return "the folder or its disk is gone. Bring it back, or choose another with --folder"
        case errno.EEXIST | errno.ENOTDIR:
            return "there is already something of that name. Choose another folder with --folder"
        case _:
            return f"{cause.strerror or cause}. Choose another folder with --folder"


def disk_trouble(cause: OSError) -> str:
    """Name the trouble alone, where the program itself does what can be done."""
    return disk_advice(cause).split(". ", 1)[0]
