"""By what name this very analysis goes: another one for any change of the code that makes numbers, without anybody's doing.

What was worked out under another name is made anew. A program that is installed changes it with each release that changes such
a file; in a checkout it changes with the files themselves.
"""

from __future__ import annotations

import hashlib
from functools import cache
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import Final

import fusion
import sensors
from sensors.record.writer import program_version
from server.drills import default_drill

_SENSORS: Final = ("decode", "clock", "profiles", "ingest.py", "trim.py", "record/reader.py")
_SERVER: Final = (
    "analysis", "store/ledger.py", "store/records.py", "store/swings.py", "reanalysis/one_file.py",
)  # fmt: skip


@cache
def analysis_version() -> str:
    """The program's version, then twelve digits for its code, the compiled filter and the drill where none is chosen."""
    own, server = Path(sensors.__file__).parent, Path(__file__).parents[1]
    places = [Path(fusion.__file__).parent, *(own / name for name in _SENSORS), *(server / name for name in _SERVER)]
    digest = hashlib.sha256(f"{_version_of('vqf')} {default_drill()}".encode())
    for place in places:
        for path in sorted(place.rglob("*")) if place.is_dir() else [place]:
            if path.suffix in {".py", ".toml"}:
                digest.update(path.name.encode() + b"\0")
                digest.update(path.read_bytes().replace(b"\r\n", b"\n"))  # as Git writes them on Windows
    return f"{program_version()[:40]}+{digest.hexdigest()[:12]}"


def _version_of(package: str) -> str:
    try:
        return version(package)
    except PackageNotFoundError:
        return ""
