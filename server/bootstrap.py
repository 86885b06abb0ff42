"""Makes a bare checkout run: `.venv` with everything in it, the pages built, the same command again inside.

Standard library only, and parsed by any Python from 3.7 on so that an old one can be told what to do. `ensure` returns
at once when this Python already has it all; otherwise it never returns.
"""

from __future__ import annotations

import importlib.util
import json
import os
import shutil
import subprocess
import sys
from pathlib import Path
from typing import NoReturn

from server.set_up import OLDEST, SetUp, SetUpFailed, say

MODULES = {
    "": (),
    "virtual": ("bumble",),
    "test": ("pytest", "pytest_asyncio", "playwright", "hypothesis", "mypy", "ruff", "bumble"),
}
"""What must be there for each extra."""
_RERUN_MARK = "PITCHBEND_SET_UP"


def ensure(extra: str = "") -> None:
    """Return if this Python can run the program (with `extra`, such as 'test'); else set up and run again inside."""
    root = Path(__file__).resolve().parent.parent
    ran_before = os.environ.pop(_RERUN_MARK, None) is not None
    try:
        check_python(sys.version_info[:2])
        if is_installed_copy(root) or has_own_environment(root, extra):
            return
        setup = SetUp(root, extra)
        if setup.is_fresh():
            if setup.is_inside():
                return
        else:
            setup.run_alone(ran_before=ran_before)
        rerun(setup.python)
    except SetUpFailed as failure:
        say(f"\n{failure}")
        sys.exit(2)
    except KeyboardInterrupt:
        say("\nSet-up stopped. Run the same command again to go on.")
        sys.exit(130)


def check_python(version: tuple[int, ...]) -> None:
    """Raise `SetUpFailed` for a Python that is too old, naming a newer one if there is one here."""
    if version >= OLDEST:
        return
    newer = next(
        (name for name in ("python3.14", "python3.13", "python3.12", "python3.11") if shutil.which(name)), None
    )
    advice = f"This machine has {newer}: use that instead of {Path(sys.executable).name}." if newer else (
        "Install a newer one from python.org (on a Mac also: brew install python; on Linux: from your package manager)."
    )  # fmt: skip
    raise SetUpFailed(
        f"Pitchbend needs Python {OLDEST[0]}.{OLDEST[1]} or newer; this is {version[0]}.{version[1]}. {advice}"
    )


def is_installed_copy(root: Path) -> bool:
    """Whether this file runs from an installed package rather than a checkout."""
    return not ((root / "pyproject.toml").is_file() and (root / "web").is_dir())


def has_own_environment(root: Path, extra: str) -> bool:
    """Whether a developer runs this checkout in an environment of their own, installed there with `pip install -e`."""
    if Path(sys.prefix).resolve() == (root / ".venv").resolve():
        return False
    from importlib import metadata  # noqa: PLC0415  # newer than the oldest Python that parses this

    try:
        text = metadata.distribution("pitchbend").read_text("direct_url.json") or "{}"
    except metadata.PackageNotFoundError:
        return False
    url = json.loads(text)
    if not url.get("dir_info", {}).get("editable") or url.get("url") != root.as_uri():
        return False
    return all(importlib.util.find_spec(name) for name in MODULES[extra])


def rerun(python: Path) -> NoReturn:
    """Run this very command with another Python, and end as it ends."""
    spec = sys.modules["__main__"].__spec__
    module = spec.name[: -len(".__main__")] if spec is not None and spec.name.endswith(".__main__") else "server"
    command = [str(python), "-m", module, *sys.argv[1:]]
    sys.stdout.flush()
    sys.stderr.flush()
    os.environ[_RERUN_MARK] = "1"
    if os.name != "nt":
        os.execv(command[0], command)  # noqa: S606  # no shell wanted
    process = subprocess.Popen(command)
    while True:
        try:
            sys.exit(process.wait())
        except KeyboardInterrupt:  # the child has had it too, and decides
            continue
