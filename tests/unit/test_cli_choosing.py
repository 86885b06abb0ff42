from __future__ import annotations

import io
from dataclasses import dataclass, field

import pytest
from rich.console import Console

from server.cli.choosing import choose_sensors, sensors_table, strength
from server.cli.failures import CommandFailed
from server.cli.remembered import Remembered, recall, remember, settings_path


@dataclass(frozen=True)
class Heard:
    sensor: str
    name: str = ""
    rssi_dbm: int = -60
    kind: str = "board"


@dataclass
class FakeRadio:
    in_reach: list[Heard]
    deaf: tuple[str, ...] = ()
    blinked: list[str] = field(default_factory=list)

    def scan(self):
        return self.in_reach

    def blink(self, sensor):
        self.blinked.append(sensor)
        return sensor not in self.deaf


A, B, C = Heard("AA:01", "band"), Heard("BB:02", "clip"), Heard("CC:03")


def choose(radio, answers=(), forearm=None, club=None, known=None, can_ask=True):
    answers = iter(answers)

    def ask(_):
        try:
            return next(answers)
        except StopIteration:
            raise EOFError from None

    return choose_sensors(
        forearm,
        club,
        known or Remembered(),
        radio,
        can_ask=lambda: can_ask,
        ask=ask,
        console=Console(file=io.StringIO()),
    )


def test_what_is_given_needs_no_radio():
    assert choose(None, forearm="x", club="y") == ("x", "y")


def test_what_is_remembered_needs_no_radio_and_what_is_given_wins():
    known = Remembered(forearm="x", club="y")
    assert choose(None, known=known) == ("x", "y")
    assert choose(None, club="z", known=known) == ("x", "z")


def test_one_sensor_cannot_be_both():
    with pytest.raises(CommandFailed, match="each"):
        choose(None, forearm="aa", club="AA")


@pytest.mark.parametrize(
    ("in_reach", "given", "says"),
    [
        ([], {}, "none was found"),
        ([A], {}, "only one"),
        ([A], {"forearm": "aa:01"}, "One more"),
    ],
)
def test_too_few_sensors(in_reach, given, says):
    with pytest.raises(CommandFailed, match=says):
        choose(FakeRadio(in_reach), **given)


def test_without_a_terminal_it_says_what_to_pass():
    with pytest.raises(CommandFailed, match="--forearm ADDRESS --club ADDRESS"):
        choose(FakeRadio([A, B]), can_ask=False)


def test_the_blinking_one_is_asked_for_and_the_last_one_left_is_the_club():
    radio = FakeRadio([A, B])
    assert choose(radio, ["n", "Yes "]) == ("BB:02", "AA:01")
    assert radio.blinked == ["AA:01", "BB:02"]


def test_with_three_both_are_asked_for():
    radio = FakeRadio([A, B, C])
    assert choose(radio, ["y", "n", "y"]) == ("AA:01", "CC:03")
    assert radio.blinked == ["AA:01", "BB:02", "CC:03"]


def test_with_one_given_only_the_other_is_sought():
    assert choose(FakeRadio([A, B]), forearm="AA:01") == ("AA:01", "BB:02")
    assert choose(FakeRadio([A, B]), club="AA:01") == ("BB:02", "AA:01")


def test_one_that_cannot_be_reached_is_passed_over_and_a_second_round_is_offered():
    radio = FakeRadio([A, B], deaf=("AA:01",))
    assert choose(radio, ["n", "y", "y"]) == ("BB:02", "AA:01")
    assert radio.blinked == ["AA:01", "BB:02", "AA:01", "BB:02"]


@pytest.mark.parametrize("answers", [["q"], ["n", "n", "n"], []])
def test_stopping(answers):
    with pytest.raises(CommandFailed, match="Stopped"):
        choose(FakeRadio([A, B]), answers)


def test_signal_in_words():
    assert strength(-50) == "good (-50 dBm)"
    assert strength(-70).startswith("fair")
    assert strength(-90).startswith("weak, come nearer")
    assert sensors_table([A, C]).row_count == 2


@pytest.fixture
def config(tmp_path, monkeypatch):
    monkeypatch.setattr("platformdirs.user_config_dir", lambda *_, **__: str(tmp_path / "config"))
    return tmp_path / "config"


def test_what_is_remembered_is_recalled(config):
    assert recall() == Remembered()
    what = Remembered(forearm="x", club="y", lead_side="right", player="Maren Tölk")
    remember(what)
    assert recall() == what
    assert what.has_sensors
    assert settings_path().parent == config
    assert [p.name for p in config.iterdir()] == ["practice.json"]


@pytest.mark.parametrize("text", ["", "[]", "{", '{"lead_side": "middle", "forearm": 3, "colour": "red"}', "\udcff"])
def test_a_spoilt_memory_counts_as_none(config, text):
    config.mkdir()
    settings_path().write_bytes(text.encode("utf-8", "surrogateescape"))
    assert recall() == Remembered()


def test_a_place_that_cannot_be_written_is_no_reason_to_stop(config):
    config.touch()
    remember(Remembered(forearm="x"))
    assert recall() == Remembered()
