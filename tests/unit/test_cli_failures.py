from __future__ import annotations

import errno
import os
import re
import sys
from pathlib import Path
from types import ModuleType

import pytest

from sensors.errors import (
    NotARecording,
    RadioError,
    RecorderError,
    RecordingError,
    SensorsError,
    UnknownProfile,
    UnsupportedRecording,
)
from sensors.events import LinkReason
from server import entry
from server.advice import error_sentence
from server.cli import main
from server.cli.failures import CommandFailed

PATH = Path("swings.mcap")


def disk(code):
    return RecorderError(PATH, OSError(code, os.strerror(code)))


@pytest.mark.parametrize(
    ("error", "says"),
    [
        (NotARecording(PATH, "it is empty"), "swings.mcap cannot be played: it is empty."),
        (UnsupportedRecording(PATH, "it was made by a newer version of Pitchbend"), "newer version"),
        (RecordingError(PATH, "this user may not read it"), "may not read"),
        (disk(errno.ENOSPC), "the disk is full"),
        (disk(errno.EACCES), "--folder"),
        (disk(errno.EROFS), "cannot be written"),
        (disk(errno.ENOENT), "gone"),
        (disk(errno.EEXIST), "already"),
        (disk(errno.ENAMETOOLONG), "File name too long"),
        (UnknownProfile("sundial", ("open-imu-1",)), "sundial"),
        (SensorsError("odd"), "odd."),
        *((RadioError(reason), "") for reason in LinkReason),
    ],
)
def test_every_failure_is_a_sentence(error, says):
    sentence = error_sentence(error)
    assert says in sentence
    assert re.fullmatch(r"[A-Za-z].*\.", sentence)


@pytest.mark.parametrize(
    ("error", "code", "says"),
    [
        (CommandFailed("Do this."), 2, "Do this."),
        (RadioError(LinkReason.ADAPTER_OFF), 2, "switched off"),
    ],
)
def test_main_tells_it_and_exits(monkeypatch, capsys, error, code, says):
    def fail():
        raise error

    monkeypatch.setattr(main, "app", fail)
    with pytest.raises(SystemExit) as caught:
        main.main()
    assert caught.value.code == code
    assert says in capsys.readouterr().err


class Interrupted(ModuleType):
    """A module in whose loading, or whose command, Ctrl-C is pressed."""

    def __getattr__(self, name):
        raise KeyboardInterrupt


def test_an_interrupt_while_the_program_still_loads_ends_it_quietly(monkeypatch, capsys):
    monkeypatch.setitem(sys.modules, "server.cli.main", Interrupted("server.cli.main"))
    with pytest.raises(SystemExit) as caught:
        entry.main()
    assert caught.value.code == 130  # 128 + SIGINT, as POSIX shells tell it (from memory)
    assert capsys.readouterr().err == ""
