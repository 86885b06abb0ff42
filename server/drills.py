"""The drills a player can choose from: those that come with the program, and the files of one's own."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from typing import Final

import platformdirs

from fusion.drills.drill import Drill
from fusion.drills.parse import MAX_TEXT, DrillInvalid, drill_from
from server.file_advice import not_written_sentence
from server.packaged import packaged
from server.whole_file import FileNotWritten, whole_file

PATTERN: Final = "*.toml"
MAX_FILES: Final = 100


class DrillFileError(Exception):
    """A drill's file cannot be used: whose it is, where, and what is wrong."""

    def __init__(self, path: Path, problem: str) -> None:
        self.path = path
        self.problem = problem
        super().__init__(f"{path}: {problem}")


@dataclass(frozen=True, slots=True, kw_only=True)
class DrillText:
    """A drill as it was written, and as it is understood."""

    id: str
    """The file's name without its ending."""
    text: str
    drill: Drill
    own: bool = False
    """From the folder of one's own."""


def read_drill(path: Path) -> DrillText:
    """Read one file. Raises `DrillFileError`."""
    try:
        with path.open(encoding="utf-8") as file:
            text = file.read(MAX_TEXT + 1)
    except OSError as error:
        raise DrillFileError(path, error.strerror or str(error)) from error
    except UnicodeDecodeError as error:
        raise DrillFileError(path, "not a text file in UTF-8") from error
    try:
        return DrillText(id=path.stem, text=text, drill=drill_from(text))
    except DrillInvalid as error:
        raise DrillFileError(path, str(error)) from error


@cache
def our_drills() -> tuple[DrillText, ...]:
    """Give those that come with the program, in teaching order."""
    folder = packaged("_drills", "shared/drills")
    if folder is None:
        raise FileNotFoundError("the drills that come with the program are missing: install Pitchbend again")
    return tuple(read_drill(path) for path in sorted(folder.glob(PATTERN)))


def own_folder() -> Path:
    """Where a coach keeps drills of their own."""
    return Path(platformdirs.user_config_dir("pitchbend", appauthor=False)) / "drills"


def own_drills(folder: Path | None = None) -> tuple[tuple[DrillText, ...], tuple[DrillFileError, ...]]:
    """Give one's own, by name, and what was wrong with those that cannot be used."""
    good: list[DrillText] = []
    bad: list[DrillFileError] = []
    folder = folder or own_folder()
    paths = sorted(folder.glob(PATTERN))[:MAX_FILES] if folder.is_dir() else []
    for path in paths:
        try:
            good.append(replace(read_drill(path), own=True))
        except DrillFileError as error:
            bad.append(error)
    return tuple(good), tuple(bad)


class DrillNotKept(Exception):
    """A drill could not be written; the message says whose fault it is and what to do."""


def keep_drill(drill_id: str, text: str, folder: Path | None = None) -> None:
    """Write a drill among one's own. What stood there under the same name is kept beside it, with `.before` at its end.

    `drill_id` must be fit for a file's name. Raises `DrillInvalid` or `DrillNotKept`.
    """
    drill_from(text)
    folder = folder or own_folder()
    path = folder / f"{drill_id}.toml"
    try:
        folder.mkdir(parents=True, exist_ok=True)
        if not path.exists() and len(list(folder.glob(PATTERN))) >= MAX_FILES:
            raise DrillNotKept(f"There are {MAX_FILES} drills in {folder} already; take some away first.")
        if path.exists():
            with whole_file(path.with_name(f"{path.name}.before"), overwrite=True) as before:
                before.write_bytes(path.read_bytes())
        with whole_file(path, overwrite=True) as part:
            part.write_text(text, encoding="utf-8", newline="\n")
    except FileNotWritten as failure:
        raise DrillNotKept(not_written_sentence(failure)) from failure
    except OSError as error:
        raise DrillNotKept(not_written_sentence(FileNotWritten(folder, error))) from error


def catalogue() -> tuple[DrillText, ...]:
    """Give all that can be used, ours first; one of one's own takes the place of ours of the same id."""
    own, _ = own_drills()
    mine = {one.id: one for one in own}
    ours = tuple(mine.pop(one.id, one) for one in our_drills())
    return (*ours, *mine.values())


def default_drill() -> Drill:
    """Give the drill of a practice for which none was chosen: the first of ours, every rep cued."""
    return replace(our_drills()[0].drill, blocks=())


def drill_of_text(text: str) -> Drill | None:
    """Read a drill as a practice has it, without a text where none was chosen; None for what another program wrote."""
    if not text:
        return default_drill()
    try:
        return drill_from(text)
    except DrillInvalid:
        return None
