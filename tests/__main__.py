"""`python3 -m tests [pytest arguments]`: set-up, static checks and the whole suite, from a bare checkout.

With arguments it runs just what they name; `--bench` runs the measurements in tests/bench instead, `--system` the tests that
boot a virtual machine.
"""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory
from xml.etree import ElementTree as ET

from server.bootstrap import ensure


def main(arguments: list[str]) -> int:
    """Run what the arguments ask for; gives the exit code. The last line printed says how many passed and failed."""
    import os

    import pytest

    from tests.checks import ROOT, run_checks
    from tests.provide import Missing, provide_certutil, provide_chromium, provide_dbus_daemon, provide_nats_server

    os.chdir(ROOT)
    if "--system" in arguments:
        return run_system([argument for argument in arguments if argument != "--system"])
    try:
        os.environ["CHROMIUM"] = provide_chromium()
        provide_dbus_daemon()
        provide_nats_server()
        provide_certutil()
    except Missing as missing:
        print(f"\n{missing}\n", file=sys.stderr)
        if not arguments:  # named tests may well do without
            return 2
    if "--bench" in arguments:
        return run_benches(ROOT)
    if arguments:
        return pytest.main(arguments)

    n_passed, n_failed = run_checks()
    parts = [run_part(name, words) for name, words in PARTS.items()]
    n_passed += sum(part.n_passed for part in parts)
    n_failed += sum(part.n_failed for part in parts)
    print(f"{n_passed} passed, {n_failed} failed (static checks included)")
    return next((part.code for part in parts if part.code), int(n_failed > 0))


def run_system(arguments: list[str]) -> int:
    """Boot a virtual machine and judge what it tells. Bounded: see `SYSTEM_LIMIT_S`."""
    import os

    import pytest

    from tests.provide import Missing
    from tests.system.tools import ASKED, provide_tools

    try:
        provide_tools()
    except Missing as missing:
        print(f"\n{missing}\n0 passed, 1 failed", file=sys.stderr)
        return 2
    os.environ[ASKED] = "1"
    tally = Tally()
    code = pytest.main(["tests/system", "-s", f"--timeout={SYSTEM_LIMIT_S}", *arguments], plugins=[tally])
    print(f"{tally.n_passed} passed, {tally.n_failed} failed")
    return int(code)


def run_benches(root: Path) -> int:
    """Run each measurement; they report figures and judge nothing."""
    names = sorted(path.stem for path in (root / "tests" / "bench").glob("bench_*.py"))
    codes = []
    for name in names:
        print(f"--- {name}", flush=True)
        codes.append(subprocess.run([sys.executable, "-m", f"tests.bench.{name}"], check=False).returncode)
    print(f"{codes.count(0)} passed, {len(codes) - codes.count(0)} failed")
    return int(any(codes))


SYSTEM_LIMIT_S = 1500
"""Making the image, and two boots at most; each of these has a limit of its own below it."""


COMPUTE = ("tests/truth", "tests/property", "tests/firmware", "tests/unit")
"""Folders whose tests only compute; those that take long come first."""
PARTS = {
    # A file is never divided between the two processes: its fixtures are made once.
    "what only computes, in two processes": (*COMPUTE, "-n", "2", "--dist", "loadfile", "--no-loadscope-reorder"),
    # Browsers, radios and services: what ran beside them would make them slow.
    "everything else, one by one": (
        "tests",
        *(f"--ignore={name}" for name in (*COMPUTE, "tests/bench", "tests/system")),
    ),
}


@dataclass(frozen=True)
class Part:
    """What became of a part of the suite."""

    code: int
    n_passed: int
    n_failed: int


def run_part(name: str, words: Sequence[str]) -> Part:
    """Run one in a process of its own; one that did not end by itself counts as a failure."""
    print(f"--- {name}", flush=True)
    with TemporaryDirectory(prefix="pitchbend-tests-") as folder:
        report = Path(folder) / "report.xml"
        command = (sys.executable, "-m", "pytest", *words, f"--junitxml={report}")
        code = subprocess.run(command, check=False).returncode
        if not report.exists():
            return Part(code or 1, 0, 1)
        (suite,) = ET.parse(report).getroot()
        n_tests, *others = (int(suite.get(key, "0")) for key in ("tests", "failures", "errors", "skipped"))
        return Part(code, n_tests - sum(others), others[0] + others[1])


class Tally:
    """Counts what pytest found, for the last line."""

    def __init__(self):
        self.n_passed = 0
        self.n_failed = 0

    def pytest_terminal_summary(self, terminalreporter):
        stats = terminalreporter.stats
        self.n_passed = len(stats.get("passed", ()))
        self.n_failed = len(stats.get("failed", ())) + len(stats.get("error", ()))


if __name__ == "__main__":
    ensure("test")
    sys.exit(main(sys.argv[1:]))
