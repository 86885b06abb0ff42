"""The static checks: style, types, layers, page. One line each, and what failed in full."""

from __future__ import annotations

import importlib.util
import subprocess
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from server.page_build import NODE_HELP, NODE_REQUIREMENT, Node, PageBuildError, ensure_node_modules, find_node

ROOT = Path(__file__).resolve().parent.parent


@dataclass(frozen=True, slots=True)
class Outcome:
    passed: bool
    output: str


Check = Callable[[], Outcome]


def command(*words: str, env: dict[str, str] | None = None, folder: Path = ROOT) -> Outcome:
    answer = subprocess.run(
        words, cwd=folder, env=env, check=False, text=True, errors="replace",
        stdout=subprocess.PIPE, stderr=subprocess.STDOUT,
    )  # fmt: skip
    return Outcome(answer.returncode == 0, answer.stdout)


def module(name: str, *words: str) -> Check:
    return lambda: command(sys.executable, "-m", name, *words)


def import_linter() -> Outcome:
    code = "import sys; from importlinter.cli import lint_imports_command as main; sys.argv[0] = 'lint-imports'; main()"
    return command(sys.executable, "-c", code)


def svelte_check() -> Outcome:
    """Needs the page's libraries, which a build that found everything fresh has not fetched."""
    node = find_node() or _install_node()
    if node is None:
        return Outcome(passed=False, output=f"no Node for svelte-check: {NODE_HELP}")
    try:
        ensure_node_modules(ROOT, node)
    except PageBuildError as error:
        return Outcome(passed=False, output=str(error))
    web = ROOT / "web"
    script = web / "node_modules" / "svelte-check" / "bin" / "svelte-check"
    return command(
        node.node, str(script), "--tsconfig", "./tsconfig.json", "--fail-on-warnings", env=node.env, folder=web
    )


def _install_node() -> Node | None:
    command(sys.executable, "-m", "pip", "install", "-q", "--disable-pip-version-check", NODE_REQUIREMENT)
    importlib.invalidate_caches()
    return find_node()


CHECKS: dict[str, Check] = {
    "ruff check": module("ruff", "check", "."),
    "ruff format": module("ruff", "format", "--check", "."),
    "mypy": module("mypy"),
    "import layers": import_linter,
    "svelte-check": svelte_check,
}


def run_checks(checks: dict[str, Check] | None = None) -> tuple[int, int]:
    """Run them all, whatever fails; gives how many passed and failed."""
    n_passed = n_failed = 0
    for name, check in (CHECKS if checks is None else checks).items():
        print(f"{name:.<20}", end=" ", flush=True)
        start_s = time.monotonic()
        outcome = check()
        print(f"{'ok' if outcome.passed else 'FAILED'} ({time.monotonic() - start_s:.1f} s)", flush=True)
        if outcome.passed:
            n_passed += 1
        else:
            n_failed += 1
            print(outcome.output.rstrip(), flush=True)
    return n_passed, n_failed
