"""An hour of practice worked out anew: how fast, in how much memory, and how often the bar moves on the way.

    python -m tests.bench.bench_hour [MINUTES...]

Simulated practices of these lengths (10 and 60 minutes unless others are named, a swing every half minute, the same each time)
are written as recordings to a temporary folder; `pitchbend analyse` and `pitchbend reanalyse` then run as a person runs them,
each in a process of its own, every instant written to Parquet. Times are by the clock and of the processor, start of Python
included; memory is the most that was resident in command or worker. A report, never a pass or fail.
"""

from __future__ import annotations

import os
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from server.reanalysis.under_way import notes_in
from tests.bench.bench_pipeline import resident_mb, write_practice

_LOOK_S = 0.1
_COMMAND = "from server.cli.main import main; main()"


def run(words: list[str], out: Path) -> tuple[float, float, dict[int, float], int]:
    """Give seconds by the clock and of the processor, the most each process held in MB, and how many places its notes told."""
    begun_s, begun_cpu_s = time.monotonic(), cpu_s()
    most_mb: dict[int, float] = {}
    told: set[int] = set()
    command = subprocess.Popen([sys.executable, "-c", _COMMAND, *words], stdout=subprocess.DEVNULL)
    while command.poll() is None:
        for pid in family(command.pid):
            most_mb[pid] = max(most_mb.get(pid, 0.0), held_mb(pid))
        told.update(notes_in(out).values())
        time.sleep(_LOOK_S)
    if command.returncode:
        raise SystemExit(f"{' '.join(words)} ended with {command.returncode}")
    return time.monotonic() - begun_s, cpu_s() - begun_cpu_s, most_mb, len(told)


def cpu_s() -> float:
    """Give the processor's time of all processes that have ended."""
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def family(pid: int) -> list[int]:
    """Give a process and those that it started, and they."""
    try:
        children = Path(f"/proc/{pid}/task/{pid}/children").read_text(encoding="ascii").split()
    except OSError:
        return []
    return [pid, *(other for child in children for other in family(int(child)))]


def held_mb(pid: int) -> float:
    """Give the most that a process has held so far, if it is still there."""
    try:
        return resident_mb(pid)
    except (OSError, IndexError):
        return 0.0


def main(lengths: list[float]) -> None:
    print(f"load before: {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores\n")
    columns = (
        "minutes",
        "command",
        "seconds",
        "of the processor",
        "x real time by that",
        "most MB",
        "places told within",
    )
    print(f"| {' | '.join(columns)} |\n|{' --- |' * len(columns)}")
    with tempfile.TemporaryDirectory() as folder:
        for minutes in lengths:
            place = Path(folder) / f"{minutes:.0f}.mcap"
            write_practice(place, minutes)
            out = Path(folder) / f"out-{minutes:.0f}"
            series = ["--series", f"{out}.parquet", "--reps", f"{out}.json"]
            for name, words in (
                ("analyse", ["analyse", str(place), *series]),
                ("reanalyse", ["reanalyse", str(place), "-o", str(out)]),
            ):
                spent_s, used_s, most_mb, n_told = run(words, out)
                steps = n_told if name == "reanalyse" else "-"
                print(
                    f"| {minutes:.0f} | {name} | {spent_s:.1f} | {used_s:.1f} | {60 * minutes / used_s:.0f} | "
                    f"{max(most_mb.values()):.0f} | {steps} |",
                    flush=True,
                )
    print(f"\nload after: {os.getloadavg()[0]:.1f}")


if __name__ == "__main__":
    main([float(word) for word in sys.argv[1:]] or [10.0, 60.0])
