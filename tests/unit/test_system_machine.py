"""The hands around the virtual machine, without one: when it is booted again, what is taken from its console, what is missing."""

from __future__ import annotations

import platform
import sys

import pytest

from tests.provide import Missing
from tests.system import machine, tools
from tests.system.machine import boot, boot_twice
from tests.system.test_bluetooth import assert_complete, assert_in_order_once

TELLS = """print('boot'); print('PITCHBEND-RESULT {"found": {"club": "C0"}, "error": "later"}'); print('off')"""
NEVER_BEGAN = """print('PITCHBEND-RESULT {"error": "TimeoutError()"}')"""


@pytest.fixture
def guest(monkeypatch):
    def play(program, limit_s=60.0):
        monkeypatch.setattr(machine, "COMMAND", (sys.executable, "-c", program))
        monkeypatch.setattr(machine, "BOOT_LIMIT_S", limit_s)

    return play


def booted(folder):
    return sorted(path.name for path in folder.glob("console-*.log"))


def test_what_a_guest_told_is_taken_and_it_is_not_asked_again(guest, tmp_path):
    guest(TELLS)
    outcome = boot_twice(tmp_path / "kernel", tmp_path / "archive", tmp_path)
    assert outcome.result == {"found": {"club": "C0"}, "error": "later"}
    assert "off" in outcome.console
    assert booted(tmp_path) == ["console-1.log"]


@pytest.mark.parametrize("program", ["print('Probing EDD')", NEVER_BEGAN])
def test_one_that_never_got_to_the_trial_is_booted_twice_and_no_more(guest, tmp_path, program):
    guest(program)
    outcome = boot_twice(tmp_path / "kernel", tmp_path / "archive", tmp_path)
    assert outcome.result is None or "found" not in outcome.result
    assert booted(tmp_path) == ["console-1.log", "console-2.log"]


def test_one_that_hangs_is_ended(guest, tmp_path):
    guest("import time; print('hangs', flush=True); time.sleep(1000)", limit_s=3.0)
    outcome = boot(tmp_path / "kernel", tmp_path / "archive", tmp_path / "console")
    assert outcome.result is None


def test_what_is_missing_is_named_with_what_to_type(monkeypatch):
    monkeypatch.setattr(tools.shutil, "which", lambda name: None if name == "debootstrap" else name)
    ran = []
    with pytest.raises(Missing, match=r"debootstrap, root on Debian.*\n  sudo apt install debootstrap") as missing:
        tools.provide_tools(lambda command: bool(ran.append(command)), apt=lambda: False)
    assert "qemu" not in str(missing.value)
    assert ran == []
    with pytest.raises(Missing, match="debootstrap"):
        tools.provide_tools(lambda command: not ran.append(command), apt=lambda: True)
    assert ran[-1][-1] == "debootstrap"


def test_another_kind_of_processor_is_told(monkeypatch):
    monkeypatch.setattr(tools.shutil, "which", lambda name: name)
    monkeypatch.setattr(platform, "machine", lambda: "arm64")
    with pytest.raises(Missing, match="x86-64"):
        tools.provide_tools(lambda _: True, apt=lambda: True)


@pytest.mark.parametrize("sequences", [[1, 2, 4], [1, 2, 2, 3], [1, 3, 2]])
def test_a_stream_that_is_not_complete_is_seen(sequences):
    with pytest.raises(AssertionError):
        assert_complete(sequences)


def test_a_counter_that_wraps_is_complete_and_a_gap_is_in_order():
    assert_complete([65534, 65535, 0, 1])
    assert_in_order_once([65534, 3, 4, 90])
    for sequences in ([1, 2, 2], [5, 4]):
        with pytest.raises(AssertionError):
            assert_in_order_once(sequences)
