"""Finds a C compiler and builds the firmware's core with it.

The system's own is used where there is one. Elsewhere the one in the PyPI package `ziglang` is; it is fetched when it is
first needed and not with the other test packages, for it is a download of 101 MB that most machines can do without.
"""

from __future__ import annotations

import importlib
import importlib.util
import os
import shlex
import shutil
import subprocess
import sys
from collections.abc import Sequence
from functools import cache
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
FIRMWARE = ROOT / "sensors" / "firmware"
CORE = FIRMWARE / "core" / "src"
HERE = Path(__file__).resolve().parent
ZIG_REQUIREMENT = "ziglang>=0.13,<0.18"
WARNINGS = ("-Wall", "-Wextra", "-Werror", "-Wconversion", "-pedantic")
SANITIZERS = ("-fsanitize=address,undefined", "-fno-sanitize-recover=all")


class NoCompiler(Exception):
    pass


@cache
def c_compiler() -> tuple[str, ...]:
    """Words that begin a compiler command; $CC first. Raises `NoCompiler` with what to do."""
    return _compiler("CC", ("cc", "gcc", "clang"), "cc")


@cache
def cpp_compiler() -> tuple[str, ...]:
    """The same for C++; $CXX first."""
    return _compiler("CXX", ("c++", "g++", "clang++"), "c++")


def _compiler(variable: str, names: tuple[str, ...], zig_command: str) -> tuple[str, ...]:
    if os.environ.get(variable):
        return tuple(shlex.split(os.environ[variable]))
    found = next(filter(None, map(shutil.which, names)), None)
    return (found,) if found else (*_zig(), zig_command)


def _zig() -> tuple[str, ...]:
    if importlib.util.find_spec("ziglang") is None:
        subprocess.run(
            [sys.executable, "-m", "pip", "install", "-q", "--disable-pip-version-check", ZIG_REQUIREMENT], check=False
        )
        importlib.invalidate_caches()
    if importlib.util.find_spec("ziglang") is None:
        raise NoCompiler(
            "The firmware tests need a C compiler, and the package ziglang could not be installed in its place.\n"
            "  Debian, Ubuntu:  sudo apt install gcc g++\n"
            "  macOS:           xcode-select --install\n"
            "or set CC and CXX, then run the same command again."
        )
    return (sys.executable, "-m", "ziglang")


def compile_with(compiler: Sequence[str], *arguments: str | Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run([*compiler, *map(str, arguments)], capture_output=True, text=True, check=False)


def build_driver(folder: Path) -> Path:
    """The core with `driver.c` around it, with sanitizers where the compiler has them."""
    program = folder / ("driver.exe" if sys.platform == "win32" else "driver")
    sources = [HERE / "driver.c", *sorted(CORE.glob("*.c"))]
    common = ("-std=c99", *WARNINGS, "-g", "-O1", f"-I{CORE}", *sources, "-o", program)
    for sanitizers in (SANITIZERS, ("-fsanitize=undefined", SANITIZERS[1]), ()):
        built = compile_with(c_compiler(), *sanitizers, *common)
        if built.returncode == 0 and _runs(program):
            return program
    raise AssertionError(f"{' '.join(c_compiler())} could not build the core:\n{built.stderr}")


def _runs(program: Path) -> bool:
    """A sanitizer may link and yet lack its run-time part."""
    try:
        answer = subprocess.run([program], input="init\n", capture_output=True, text=True, check=False, timeout=30)
    except OSError:
        return False
    return answer.stdout.strip() == "ok"
