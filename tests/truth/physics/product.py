"""The product run on a simulated practice as a person would: two commands, three files in, two files out."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

COMMAND = Path(sys.executable).with_name("pitchbend")


class ProductFailed(Exception):
    """A command did not end well; what it said."""


def run_product(folder: Path) -> None:
    """F.csv, C.csv and M.json in the folder become X.mcap, S.parquet and R.json beside them. Raises ProductFailed."""
    run_import(folder)
    at = {name: str(folder / name) for name in ("X.mcap", "S.parquet", "R.json")}
    _run("analyse", at["X.mcap"], "--series", at["S.parquet"], "--reps", at["R.json"])


def run_import(folder: Path) -> None:
    """The first of the two alone: X.mcap. Raises ProductFailed."""
    at = {name: str(folder / name) for name in ("F.csv", "C.csv", "M.json", "X.mcap")}
    _run(
        "import-imu",
        "--forearm",
        at["F.csv"],
        "--club",
        at["C.csv"],
        "--marks",
        at["M.json"],
        "-o",
        at["X.mcap"],
        "--force",
    )


def _run(*words: str) -> None:
    answer = subprocess.run([COMMAND, *words], check=False, text=True, stdout=subprocess.PIPE, stderr=subprocess.STDOUT)
    if answer.returncode:
        raise ProductFailed(f"{' '.join(words)}\n{answer.stdout}")
