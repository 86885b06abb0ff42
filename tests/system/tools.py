"""What the virtual machine needs of the host."""

from __future__ import annotations

import platform
import shutil
from collections.abc import Callable

from tests.provide import Missing, Runner, apt_install, can_apt, run

ASKED = "PITCHBEND_SYSTEM_TESTS"
"""Environment variable without which pytest leaves these tests out."""
PROGRAMS = {"qemu-system-x86_64": "qemu-system-x86", "debootstrap": "debootstrap", "cpio": "cpio"}
"""Program, and the Debian package that has it."""
HELP = (
    "The system tests run a virtual machine that is made from Debian packages. They need a Debian or Ubuntu on an x86-64\n"
    "computer, root (for debootstrap), and: {missing}.\n"
    "  sudo apt install {packages}\n"
    "Then run the same command again, as root."
)


def provide_tools(runner: Runner = run, *, apt: Callable[[], bool] = can_apt) -> None:
    """Find or install everything. Raises `Missing` with what is missing and what to type."""
    absent = _absent()
    if absent and apt():
        print(f"No {', '.join(absent)} here: installing with apt-get…", flush=True)
        for program in absent:
            apt_install(PROGRAMS[program], runner)
        absent = _absent()
    lacking = list(absent)
    if not apt():
        lacking.append("root on Debian or Ubuntu")
    if platform.machine() not in ("x86_64", "AMD64"):
        lacking.append("an x86-64 computer")
    if lacking:
        packages = " ".join(PROGRAMS[program] for program in absent or PROGRAMS)
        raise Missing(HELP.format(missing=", ".join(lacking), packages=packages))


def _absent() -> list[str]:
    return [program for program in PROGRAMS if shutil.which(program) is None]
