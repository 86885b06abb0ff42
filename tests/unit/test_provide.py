"""What `python3 -m tests` does before pytest: provide, check, count."""

from __future__ import annotations

import sys

import pytest

from tests import checks, provide
from tests.__main__ import COMPUTE, PARTS, Part, run_part
from tests.checks import ROOT, Outcome, command, run_checks
from tests.provide import (
    CHROMIUM_HELP,
    Missing,
    find_chromium,
    provide_chromium,
    provide_dbus_daemon,
    provide_nats_server,
)


class FakeRunner:
    """Notes commands; `works` says whether they succeed."""

    def __init__(self, works=True):
        self.works = works
        self.commands = []

    def __call__(self, command):
        self.commands.append(command)
        return self.works


class Appears:
    """Is found from the n-th look on."""

    def __init__(self, look):
        self.left = look

    def __call__(self):
        self.left -= 1
        return "/usr/bin/chromium" if self.left < 0 else None


def test_a_chromium_that_is_there_is_used():
    runner = FakeRunner()
    assert provide_chromium(runner, Appears(0)) == "/usr/bin/chromium"
    assert runner.commands == []


def test_as_root_on_debian_it_is_installed():
    runner = FakeRunner()
    assert provide_chromium(runner, Appears(1), apt=lambda: True) == "/usr/bin/chromium"
    assert [command[:2] for command in runner.commands] == [["apt-get", "update"], ["apt-get", "install"]]
    assert runner.commands[1][-1] == "chromium"


@pytest.mark.parametrize(("apt", "look"), [(True, 2), (False, 1)])
def test_else_playwright_fetches_its_own(apt, look):
    runner = FakeRunner()
    assert provide_chromium(runner, Appears(look), apt=lambda: apt) == "/usr/bin/chromium"
    assert runner.commands[-1][1:4] == ["-m", "playwright", "install"]
    assert ("--with-deps" in runner.commands[-1]) is apt


def test_else_it_says_exactly_what_to_install():
    with pytest.raises(Missing) as caught:
        provide_chromium(FakeRunner(works=False), lambda: None, apt=lambda: True)
    assert str(caught.value) == CHROMIUM_HELP
    assert "sudo apt install chromium" in CHROMIUM_HELP


def test_the_chosen_chromium_must_exist(monkeypatch):
    monkeypatch.setenv("CHROMIUM", sys.executable)
    assert find_chromium() == sys.executable
    monkeypatch.setenv("CHROMIUM", "/no/such/thing")
    with pytest.raises(Missing, match="no such program"):
        find_chromium()


def test_dbus(monkeypatch):
    monkeypatch.setattr(provide.sys, "platform", "linux")
    monkeypatch.setattr(provide.shutil, "which", lambda _: "/usr/bin/dbus-daemon")
    assert provide_dbus_daemon() == "/usr/bin/dbus-daemon"
    monkeypatch.setattr(provide.shutil, "which", lambda _: None)
    runner = FakeRunner()
    with pytest.raises(Missing, match="sudo apt install dbus"):
        provide_dbus_daemon(runner, apt=lambda: True)
    assert runner.commands[-1][-1] == "dbus"
    with pytest.raises(Missing):
        provide_dbus_daemon(apt=lambda: False)
    monkeypatch.setattr(provide.sys, "platform", "darwin")
    assert provide_dbus_daemon() is None


def test_nats_server():
    assert provide_nats_server(find=lambda: "/usr/sbin/nats-server") == "/usr/sbin/nats-server"
    found = iter([None, "/usr/sbin/nats-server"])
    runner = FakeRunner()
    assert provide_nats_server(runner, lambda: next(found), apt=lambda: True) == "/usr/sbin/nats-server"
    assert runner.commands[-1][-1] == "nats-server"
    with pytest.raises(Missing, match="sudo apt install nats-server"):
        provide_nats_server(FakeRunner(works=False), lambda: None, apt=lambda: True)
    with pytest.raises(Missing):
        provide_nats_server(find=lambda: None, apt=lambda: False)


def test_all_checks_run_and_what_failed_is_shown(capsys):
    outcomes = {"good": lambda: Outcome(True, "quiet"), "bad": lambda: Outcome(False, "line 3 is wrong")}
    assert run_checks({**outcomes, "last": outcomes["good"]}) == (2, 1)
    said = capsys.readouterr().out
    assert "quiet" not in said
    assert "line 3 is wrong" in said
    assert [line.split(".")[0] for line in said.splitlines() if "(" in line] == ["good", "bad", "last"]


def test_the_real_checks_are_these():
    assert list(checks.CHECKS) == ["ruff check", "ruff format", "mypy", "import layers", "svelte-check"]


def test_a_command_tells_how_it_ended():
    assert command(sys.executable, "-c", "print('x')") == Outcome(True, "x\n")
    assert not command(sys.executable, "-c", "raise SystemExit(1)").passed


def test_what_a_part_of_the_suite_came_to_is_counted_and_a_part_that_dies_has_failed(tmp_path, capfd):
    (tmp_path / "test_some.py").write_text(
        "import pytest\n"
        "def test_good(): pass\n"
        "def test_bad(): assert False\n"
        "def test_left_out(): pytest.skip('for a reason')\n"
        "@pytest.fixture\ndef broken(): raise ValueError\n"
        "def test_never_begun(broken): pass\n"
    )
    (tmp_path / "test_dies.py").write_text("import os\ndef test_dies(): os._exit(3)\n")
    some, dies = (
        run_part("some", (str(tmp_path / name), "-p", "no:cacheprovider")) for name in ("test_some.py", "test_dies.py")
    )
    assert (some, dies) == (Part(1, 1, 2), Part(3, 0, 1))
    assert "--- some" in capfd.readouterr().out


def test_both_parts_together_are_the_whole_suite():
    folders = {f"tests/{path.parent.name}" for path in (ROOT / "tests").glob("*/test_*.py")}
    assert set(COMPUTE) < folders
    named, rest = PARTS.values()
    assert {word for word in named if word.startswith("tests/")} == set(COMPUTE)
    ignored = {word.removeprefix("--ignore=") for word in rest[1:]}
    assert ignored == {*COMPUTE, "tests/bench", "tests/system"}
