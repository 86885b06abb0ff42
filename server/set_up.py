"""Makes and renews `.venv` in a checkout. Standard library only, and parsed by any Python from 3.7 on.

Rule 1: `.venv/pitchbend.json` is written last; as long as `.venv/unfinished` lies there, the folder is not trusted.
Rule 2: one set-up at a time; a second one waits and then finds the work done.
Rule 3: messages go to stderr, so that a command's own output stays clean.
"""

from __future__ import annotations

import contextlib
import hashlib
import importlib.util
import json
import os
import re
import subprocess
import sys
import time
from pathlib import Path
from typing import Any, Callable, Iterator  # noqa: UP035  # what an old Python can still import

from server.setup_advice import explain

OLDEST = (3, 11)

Runner = Callable[["list[str]", "dict[str, str]"], "tuple[int, str]"]
"""Runs a command with extra environment, shows its progress; gives its exit code and all it said."""


class SetUpFailed(Exception):
    """Set-up cannot go on; the message says why and what to do."""


def say(text: str) -> None:
    """Tell the person."""
    print(text, file=sys.stderr, flush=True)


class SetUp:
    """The environment of one checkout."""

    def __init__(self, root: Path, extra: str, run: Runner | None = None) -> None:
        self.root = root
        self.extra = extra
        self.venv = root / ".venv"
        self.python = self.venv / ("Scripts/python.exe" if os.name == "nt" else "bin/python")
        self._state = self.venv / "pitchbend.json"
        self._unfinished = self.venv / "unfinished"
        self._run = run or run_shown

    def is_inside(self) -> bool:
        """Whether this process runs in that environment."""
        return Path(sys.prefix).resolve() == self.venv.resolve()

    def is_fresh(self) -> bool:
        """Whether dependencies and pages are those of the present checkout."""
        return self._has_packages() and self._has_pages()

    def run_alone(self, *, ran_before: bool = False) -> None:
        """Bring it up to date unless another process has just done so. Raises `SetUpFailed`."""
        if ran_before:
            raise SetUpFailed(f"The set-up ran but did not take. Delete {self.venv} and run the same command again.")
        with one_at_a_time(self.root):
            if not self.is_fresh():
                self.run()

    def run(self) -> None:
        """Bring the environment up to date. Raises `SetUpFailed`."""
        try:
            if self._has_packages() and self._build_pages_alone():
                return
            self._make_environment()
            was_whole = self._state.exists() and not self._unfinished.exists()
            extras = sorted({*self._read_state().get("extras", []), self.extra} - {""})
            self._unfinished.touch()
            target = str(self.root) + (f"[{','.join(extras)}]" if extras else "")
            pip = [str(self.python), "-m", "pip", "install", "--disable-pip-version-check", "--no-input", "-e", target]
            code, output = self._run(pip, {"PIP_USER": "0", "PIP_REQUIRE_VIRTUALENV": "0"})
            if code != 0:
                if was_whole:
                    self._unfinished.unlink()  # pip gave up before it touched anything; what was there still runs
                raise SetUpFailed(explain(output))
            state = {"stamp": self._stamp(), "extras": [*extras, ""]}
            self._state.write_text(json.dumps(state), encoding="utf-8")
            self._unfinished.unlink()
        except OSError as error:
            raise SetUpFailed(explain(str(error))) from error
        say("Set up.\n")

    def _has_packages(self) -> bool:
        state = self._read_state()
        is_done = self.python.exists() and not self._unfinished.exists()
        extras = state.get("extras", [])
        there = self.extra in extras or "test" in extras  # that one has the others' libraries too
        return is_done and state.get("stamp") == self._stamp() and there

    def _has_pages(self) -> bool:
        from server.page_build import is_fresh  # noqa: PLC0415  # not to be parsed by an old Python

        return is_fresh(self.root)

    def _build_pages_alone(self) -> bool:
        """Rebuild edited pages without going through pip, where there is a Node."""
        from server.page_build import PageBuildError, build_pages, find_node  # noqa: PLC0415  # as above

        node = find_node()
        if node is None:
            return False
        say("The pages have changed: building them again…")
        try:
            build_pages(self.root, node)
        except PageBuildError as error:
            raise SetUpFailed(explain(str(error))) from error
        return True

    def _stamp(self) -> str:
        """Hash what the packages depend on; a moved checkout counts as changed, for its path is written into them."""
        pyproject = (self.root / "pyproject.toml").read_bytes()
        return hashlib.sha256(str(self.root).encode("utf-8", "surrogateescape") + b"\0" + pyproject).hexdigest()

    def _read_state(self) -> dict[str, Any]:
        try:
            state = json.loads(self._state.read_text(encoding="utf-8"))
        except (OSError, ValueError):
            return {}
        return state if isinstance(state, dict) else {}

    def _make_environment(self) -> None:
        if self.is_inside():
            say("Bringing Pitchbend's environment up to date…")
            return
        if self._unfinished.exists():
            say("The last set-up did not finish; starting it afresh.")
        elif self._is_usable():
            say("Bringing Pitchbend's environment up to date…")
            return
        say("Setting up Pitchbend (once, about a minute)…")
        if importlib.util.find_spec("ensurepip") is not None:
            code, output = self._run([sys.executable, "-m", "venv", "--clear", str(self.venv)], {})
        else:
            code, output = self._make_with_virtualenv()
        if code != 0:
            raise SetUpFailed(explain(output))

    def _is_usable(self) -> bool:
        """Whether there is an environment with a Python that still runs, is recent enough, and has pip."""
        if not self.python.exists():
            return False
        code, _ = self._run([str(self.python), "-c", f"import pip, sys; sys.exit(sys.version_info < {OLDEST})"], {})
        return code == 0

    def _make_with_virtualenv(self) -> tuple[int, str]:
        """Do without `ensurepip`, which some systems leave out of their Python."""
        advice = (
            "This Python came without its 'venv' part. On Debian or Ubuntu: sudo apt install python3-venv. "
            "Elsewhere: install Python from python.org."
        )
        if importlib.util.find_spec("pip") is None:
            raise SetUpFailed(advice)
        boot = self.root / ".venv-boot" / "virtualenv"
        pip = [sys.executable, "-m", "pip", "install", "-q", "--disable-pip-version-check", "--upgrade"]
        code, output = self._run([*pip, "--target", str(boot), "virtualenv"], {"PIP_USER": "0"})
        if code != 0:
            raise SetUpFailed(f"{advice}\n\n{explain(output)}")
        return self._run(
            [sys.executable, "-m", "virtualenv", "-q", "--clear", str(self.venv)], {"PYTHONPATH": str(boot)}
        )


_STAGES = (
    (re.compile(r"Obtaining|Installing build dependencies"), "reading what is needed"),
    (re.compile(r"Collecting|Downloading|Using cached"), "fetching libraries"),
    (re.compile(r"Building editable"), "building the pages"),
    (re.compile(r"Installing collected"), "putting everything in place"),
)


def run_shown(command: list[str], env: dict[str, str]) -> tuple[int, str]:
    """Run a command, name the stage it is in as it goes along, keep all it says."""
    process = subprocess.Popen(
        command,
        env={**os.environ, **env},
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        stdin=subprocess.DEVNULL,
        universal_newlines=True,
        errors="replace",
    )
    lines: list[str] = []
    stage = ""
    with process:
        assert process.stdout is not None  # noqa: S101  # asked for above
        for line in process.stdout:
            lines.append(line)
            now = next((name for pattern, name in _STAGES if pattern.match(line.strip())), stage)
            if now != stage:
                stage = now
                say(f"  {stage}…")
    return process.returncode, "".join(lines)


@contextlib.contextmanager
def one_at_a_time(root: Path) -> Iterator[None]:
    """Hold this checkout's set-up lock; the system lets go of it even if the program is killed."""
    folder = root / ".venv-boot"
    try:
        folder.mkdir(exist_ok=True)
        file = (folder / "lock").open("a+b")
    except OSError as error:
        raise SetUpFailed(explain(str(error))) from error
    with file:
        told = False
        while not _try_lock(file.fileno()):
            if not told:
                say("Another set-up is at work in this folder; waiting for it…")
                told = True
            time.sleep(0.5)
        yield


def _try_lock(fd: int) -> bool:
    try:
        if sys.platform == "win32":
            import msvcrt  # noqa: PLC0415  # Windows only

            os.lseek(fd, 0, os.SEEK_SET)
            msvcrt.locking(fd, msvcrt.LK_NBLCK, 1)
        else:
            import fcntl  # noqa: PLC0415  # POSIX only

            fcntl.flock(fd, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        return False
    return True
