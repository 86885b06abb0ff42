from __future__ import annotations

import io
from dataclasses import dataclass, field

import pytest
from rich.console import Console

from sensors.ids import Role
from server.cli.choosing import choose_sensors, places_of, sensors_table, strength
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
    moved: dict[Role, str] = field(default_factory=dict)
    asked_with: dict[Role, str] | None = None

    def scan(self):
        return self.in_reach

    def choose_by_moving(self, places, say):
        self.asked_with = dict(places)
        say("Move it.")
        return dict(places) | self.moved


A, B, C = Heard("AA:01", "band"), Heard("BB:02", "clip"), Heard("CC:03")
PAIR_XY = {Role.FOREARM: "x", Role.CLUB: "y"}
KNOWN = Remembered(places=PAIR_XY)


def told(forearm=None, club=None, also=(), known=None, choose=False, swap=False):
    return places_of(forearm, club, also, known or Remembered(), choose=choose, swap=swap)


def choose(radio, places, can_ask=True):
    return choose_sensors(places, radio, can_ask=lambda: can_ask, console=Console(file=io.StringIO()))


def test_what_is_given_needs_no_radio():
    assert choose(None, told(forearm="x", club="y")) == PAIR_XY


def test_what_is_remembered_needs_no_radio_and_what_is_given_wins():
    assert choose(None, told(known=KNOWN)) == PAIR_XY
    assert told(club="z", known=KNOWN) == {Role.FOREARM: "x", Role.CLUB: "z"}


def test_further_places():
    assert told(also=["pelvis=p", "trail-forearm = t"], known=KNOWN) == PAIR_XY | {
        Role.PELVIS: "p",
        Role.TRAIL_FOREARM: "t",
    }
    with_third = Remembered(places=PAIR_XY | {Role.PELVIS: "p"})
    assert told(known=with_third) == with_third.places


@pytest.mark.parametrize("text", ["hat=x", "pelvis", "pelvis=", "forearm=x", "spare=x", "=x", ""])
def test_a_place_that_there_is_not(text):
    with pytest.raises(CommandFailed, match="lead_upper_arm, trail_forearm, pelvis"):
        told(also=[text], known=KNOWN)


def test_choosing_anew_forgets_what_is_remembered_and_not_what_is_said():
    assert told(known=KNOWN, choose=True) == {}
    assert told(club="z", known=KNOWN, choose=True) == {Role.CLUB: "z"}


def test_the_remembered_pair_can_be_exchanged():
    assert told(known=KNOWN, swap=True) == {Role.FOREARM: "y", Role.CLUB: "x"}
    with pytest.raises(CommandFailed, match="no remembered pair"):
        told(swap=True)


@pytest.mark.parametrize(
    "given", [{"forearm": "aa", "club": "AA"}, {"club": "X", "known": KNOWN}, {"also": ["pelvis=Y"], "known": KNOWN}]
)
def test_one_sensor_cannot_be_worn_twice(given):
    with pytest.raises(CommandFailed, match="of its own"):
        told(**given)


@pytest.mark.parametrize(
    ("in_reach", "given", "says"),
    [
        ([], {}, "none was found"),
        ([A], {}, "only one"),
        ([A], {"forearm": "aa:01"}, "One more"),
        ([A, B], {}, "--forearm ADDRESS --club ADDRESS"),
    ],
)
def test_where_nobody_can_be_asked_it_says_what_to_pass(in_reach, given, says):
    with pytest.raises(CommandFailed, match=says):
        choose(FakeRadio(in_reach), told(**given), can_ask=False)


def test_who_can_be_asked_is_asked_to_move_them():
    radio = FakeRadio([], moved=PAIR_XY)
    assert choose(radio, {}) == PAIR_XY
    radio = FakeRadio([], moved={Role.CLUB: "z"})
    assert choose(radio, told(forearm="x")) == {Role.FOREARM: "x", Role.CLUB: "z"}
    assert radio.asked_with == {Role.FOREARM: "x"}


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
    what = Remembered(places=PAIR_XY | {Role.PELVIS: "p"}, lead_side="right", player="Maren Tölk")
    remember(what)
    assert recall() == what
    assert what.has_pair
    assert not Remembered(places={Role.CLUB: "y"}).has_pair
    assert settings_path().parent == config
    assert [p.name for p in config.iterdir()] == ["practice.json"]


def test_what_an_earlier_version_remembered_is_recalled(config):
    config.mkdir()
    settings_path().write_text('{"forearm": "x", "club": "", "lead_side": "left", "player": "Wren"}')
    assert recall() == Remembered(places={Role.FOREARM: "x"}, player="Wren")


@pytest.mark.parametrize("text", ["", "[]", "{", '{"lead_side": "middle", "forearm": 3, "colour": "red"}', "\udcff"])
def test_a_spoilt_memory_counts_as_none(config, text):
    config.mkdir()
    settings_path().write_bytes(text.encode("utf-8", "surrogateescape"))
    assert recall() == Remembered()


def test_a_place_that_cannot_be_written_is_no_reason_to_stop(config):
    config.touch()
    remember(KNOWN)
    assert recall() == Remembered()
