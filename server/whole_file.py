"""A file that is there as a whole or not at all: written beside its place, put there in the end."""

from __future__ import annotations

import contextlib
import errno
import os
from collections.abc import Iterator
from pathlib import Path


class FileNotWritten(Exception):
    """The disk's or the person's doing; `server/file_advice.py` has the sentence."""

    def __init__(self, path: Path, cause: OSError) -> None:
        self.path = path
        self.cause = cause
        super().__init__(f"{path}: {cause.strerror or cause}")


@contextlib.contextmanager
def whole_file(path: Path, *, overwrite: bool) -> Iterator[Path]:
    """Give the place to write to; a failure or Ctrl-C inside leaves nothing behind and what was at `path` as it was.

    Raises `FileNotWritten`, at once when there is something at `path` that may not be overwritten, or for any OSError inside.
    """
    if path.is_dir():
        raise FileNotWritten(path, IsADirectoryError(errno.EISDIR, os.strerror(errno.EISDIR)))
    if not path.parent.is_dir():
        raise FileNotWritten(path, FileNotFoundError(errno.ENOENT, os.strerror(errno.ENOENT)))
    if path.exists() and not overwrite:
        raise FileNotWritten(path, FileExistsError(errno.EEXIST, os.strerror(errno.EEXIST)))
    part = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        yield part
        part.replace(path)
    except OSError as error:
        remove_quietly(part)
        raise FileNotWritten(path, error) from error
    except BaseException:
        remove_quietly(part)
        raise


def replace_text(path: Path, text: str) -> None:
    """Put a small file of this program's own in place of the old in one step, with its folder. Raises OSError."""
    path.parent.mkdir(parents=True, exist_ok=True)
    part = path.with_suffix(".part")
    part.write_text(text, encoding="utf-8")
    part.replace(path)


def remove_quietly(path: Path) -> None:
    """Delete what is of no use to anybody, if the disk lets it."""
    with contextlib.suppress(OSError):
        path.unlink(missing_ok=True)
