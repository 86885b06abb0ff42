"""One recording of an archive: worked out, or known to be. Runs in whatever process or on whatever computer it is sent to."""

from __future__ import annotations

import json
import re
import time
from dataclasses import asdict, dataclass
from enum import StrEnum
from pathlib import Path
from typing import Any, Final

from sensors.errors import SensorsError
from sensors.record.watched import watched
from server.analysis.version import analysis_version
from server.file_advice import cause_of
from server.file_hash import sha256_of
from server.reanalysis.under_way import UnderWay
from server.whole_file import FileNotWritten, replace_text

_DONE: Final = "done.json"


class Outcome(StrEnum):
    """What became of a file."""

    WORKED_OUT = "worked_out"
    KNOWN = "known"
    """It had been, by this version of the program."""
    FAILED = "failed"


@dataclass(frozen=True, slots=True, kw_only=True)
class Worked:
    """One file, and what became of it."""

    path: str
    outcome: Outcome
    folder: str = ""
    """Where its files are."""
    sha256: str = ""
    n_reps: int = 0
    duration_s: float = 0.0
    """Of the recording."""
    took_s: float = 0.0
    is_clean: bool = True
    """Everything that was written into it could be read."""
    problem: str = ""
    """Why it failed, a clause."""


def work_out(path: Path, out: Path) -> Worked:
    """Work a recording out into a folder of its own in `out`, unless that has been done. Never raises for a bad file or disk."""
    try:
        sha256 = sha256_of(path)
        folder = out / f"{_plain(path.stem)}-{sha256[:12]}"
        known = _known(folder / _DONE, sha256)
        if known is not None:
            return Worked(**known | {"path": str(path), "folder": str(folder), "outcome": Outcome.KNOWN})
        with UnderWay(out, path) as under_way:
            return _work_out(path, folder, sha256, under_way)
    except FileNotWritten as error:
        return Worked(
            path=str(path), outcome=Outcome.FAILED, problem=f"{error.path} cannot be written: {cause_of(error.cause)}"
        )
    except (SensorsError, OSError) as error:
        return Worked(path=str(path), outcome=Outcome.FAILED, problem=cause_of(error))


def _work_out(path: Path, folder: Path, sha256: str, under_way: UnderWay) -> Worked:
    from server.analysis.analysis import Analysis  # noqa: PLC0415  # the numerical libraries: not for what is known
    from server.analysis.files import analysed_into  # noqa: PLC0415  # as above

    begun_s = time.monotonic()
    analysis = Analysis(path)
    folder.mkdir(parents=True, exist_ok=True)
    going = analysed_into(analysis, folder / "series.parquet", folder / "reps.json")
    for _ in watched(going, lambda: under_way.tell(analysis.report.read_bytes)):
        pass
    worked = Worked(
        path=str(path), outcome=Outcome.WORKED_OUT, folder=str(folder), sha256=sha256, n_reps=len(analysis.reps),
        duration_s=round(analysis.clock.length_s, 3), took_s=round(time.monotonic() - begun_s, 3),
        is_clean=analysis.report.is_clean,
    )  # fmt: skip
    replace_text(
        folder / _DONE, json.dumps(asdict(worked) | _made_by(), indent=1) + "\n"
    )  # last: it says that all is there
    return worked


def _made_by() -> dict[str, object]:
    return {"analysis_version": analysis_version()}


def _known(done: Path, sha256: str) -> dict[str, Any] | None:
    """What an earlier run wrote; None where there is nothing, or it was of another file, version or form."""
    try:
        found = json.loads(done.read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return None
    if not isinstance(found, dict) or found.get("sha256") != sha256:
        return None
    made_by = {name: found.pop(name, None) for name in _made_by()}
    there = all((done.parent / name).is_file() for name in ("series.parquet", "reps.json"))
    return found if made_by == _made_by() and there else None


def _plain(name: str) -> str:
    return re.sub(r"[^\w.-]+", "_", name)[:60]
