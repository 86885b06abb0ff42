"""Starts the worker, and reads what it says."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path

if sys.platform == "win32":
    _WINDOWS_FLAGS = subprocess.IDLE_PRIORITY_CLASS | subprocess.CREATE_NEW_PROCESS_GROUP
else:
    _WINDOWS_FLAGS = 0
_ONE_THREAD = {"OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1", "MKL_NUM_THREADS": "1"}


class Became(StrEnum):
    """What became of a recording. Said here, too, because the store's own word for it comes with the database's library."""

    STORED = "stored"
    KNOWN = "known"
    NO_REPS = "no_reps"
    UNREADABLE = "unreadable"


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """What became of an order."""

    outcomes: tuple[tuple[Path, Became, str], ...] = ()
    """Of each recording, with a clause where it could not be read."""
    trouble: str = ""
    """A sentence about the store; empty when there was none."""
    broken: bool = False
    """The worker ended by a bug, or was ended."""


def work(store: str | None, recordings: Sequence[Path], started: Callable[[subprocess.Popen[bytes]], None]) -> Told:
    """Fill the store from these, in a process of its own; wait for it. `started` is told of the process.

    The store's address may hold a password, so it does not stand on the command line.
    """
    order = {"store": store, "recordings": [str(path) for path in recordings]}
    try:
        process = subprocess.Popen(  # ourselves
            [sys.executable, "-P", "-m", "server.storing.worker"],
            stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, env=os.environ | _ONE_THREAD,
            start_new_session=True,  # a Ctrl-C is for the practice
            creationflags=_WINDOWS_FLAGS,
        )  # fmt: skip
    except OSError:
        return Told(broken=True)
    started(process)
    out, _ = process.communicate(json.dumps(order).encode())
    return told([json.loads(line) for line in out.splitlines()], broken=process.returncode != 0)


def told(lines: Sequence[dict[str, str]], *, broken: bool) -> Told:
    """Put together what the worker said."""
    return Told(
        outcomes=tuple((Path(one["path"]), Became(one["became"]), one["problem"]) for one in lines if "path" in one),
        trouble=next((one["trouble"] for one in lines if "trouble" in one), ""),
        broken=broken,
    )
