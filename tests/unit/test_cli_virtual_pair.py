"""`pitchbend virtual-pair`: what it hands to the service, what it refuses, what it says when its library is missing."""

from __future__ import annotations

import importlib.util
import re
import shlex
import sys

import pytest
from typer.testing import CliRunner

from sensors.ids import PAIR, Move, Role, SensorId, Side
from sensors.virtual.air.pair import ADDRESSES
from server.cli import bumble_here, main, ports, virtual_pair
from server.cli.failures import CommandFailed
from tests.served import Served
from tests.unit.test_habit import HABIT
from tests.unit.test_trims import TRIM


@pytest.fixture
def served(monkeypatch):
    served = Served()
    monkeypatch.setattr("server.cli.serving.serve", served)
    monkeypatch.setattr("server.cli.joining.check_port", lambda _, *, lan: None)
    return served


@pytest.fixture
def played(monkeypatch):
    setups = []

    async def play(setup):
        setups.append(setup)

    monkeypatch.setattr(virtual_pair, "play", play)
    return setups


def run(*words):
    return CliRunner().invoke(main.app, ["virtual-pair", *map(str, words)], catch_exceptions=False)


def test_the_page_is_served_and_told_that_it_is_virtual(served, tmp_path):
    run("--lead-side", "right", "--seed", 7, "--record", "--folder", tmp_path, "--no-browser")
    ((make_source, options),) = served.calls
    assert options["view"].kind == "virtual"
    assert options["player"].lead_side is Side.RIGHT
    assert options["record_to"].is_relative_to(tmp_path)
    assert "Virtual sensors" in options["notes"]["provenance"]
    assert "--seed 7" in options["notes"]["made_with"]
    source = make_source()
    assert options["asked"] == source.asked
    setup = source.pair._setup
    assert (setup.casting.seed, setup.casting.lead_side, setup.refit) == (7, Side.RIGHT, False)
    assert setup.fit[0] is Move.STILL


def test_nothing_is_recorded_unasked_and_troubles_reach_the_pair(served):
    run("--loss", 5, "--drop-every", 40, "--reboot", 60, "--low-battery", "--fit", "asked", "--speed", 2)
    ((make_source, options),) = served.calls
    assert options["record_to"] is None
    setup = make_source().pair._setup
    assert setup.fit == ()
    assert setup.speed == options["view"].speed == 2.0
    faults = setup.faults
    assert (faults.loss, faults.drop_every_s, faults.restart_every_s, faults.low_battery) == (0.05, 40.0, 60.0, True)


def test_each_golfer_has_a_memory_of_sensors_and_fits_and_is_asked_for_the_short_moves_once_there_is_one(
    served, tmp_path, monkeypatch
):
    monkeypatch.setattr(virtual_pair, "habits_folder", lambda: tmp_path / "players")
    monkeypatch.setattr(virtual_pair, "trims_folder", lambda: tmp_path / "sensors")
    run("--remember", "--seed", 4)
    run("--remember", "--seed", 5)
    run()
    fourth, fifth, nobody = [options for _, options in served.calls]
    arm, club = (SensorId(ADDRESSES[role]) for role in PAIR)
    fourth["habits"].keep(virtual_pair.PLAYER, arm, club, HABIT)
    fourth["trims"].keep(arm, TRIM)
    assert fifth["trims"].find(arm) is None
    assert nobody["trims"] is nobody["habits"] is None
    run("--remember", "--seed", 4)
    run("--remember", "--seed", 5)
    sources = [options["asked"].__self__ for _, options in served.calls]
    assert [source.pair._setup.casting.n_strokes for source in sources] == [3, 3, 3, 2, 3]


def test_on_controllers_nothing_is_served_and_each_round_begins_with_the_fit(served, played):
    run("--transport", "usb:0", "--transport", "usb:1", "--swings", 3)
    run("--transport", "vhci")
    run("--transport", "usb:0", "--only", "club")
    assert served.calls == []
    assert [setup.transports for setup in played] == [("usb:0", "usb:1"), ("vhci",), ("usb:0",)]
    assert [setup.roles for setup in played] == [PAIR, PAIR, (Role.CLUB,)]
    assert played[0].refit
    assert played[0].n_swings == 3


@pytest.mark.parametrize(
    ("words", "why"),
    [
        (("--transport", "usb:0"), "two --transport, or --only"),
        (("--transport", "usb:0", "--transport", "usb:1", "--only", "club"), "one --transport"),
        (("--transport", "vhci", "--transport", "usb:1"), "vhci carries both"),
        (("--transport", "vhci", "--speed", 2), "leave --speed out"),
    ],
)
def test_options_that_do_not_go_together(served, played, words, why):
    with pytest.raises(CommandFailed, match=why):
        run(*words)
    assert played == served.calls == []


def test_a_taken_port_is_told_before_anything_starts(served, monkeypatch):
    def taken(port, *, lan):
        raise CommandFailed(f"Port {port} is taken")

    monkeypatch.setattr("server.cli.joining.check_port", taken)
    with pytest.raises(CommandFailed, match="8787"):
        run()
    assert ports.check_port is not taken
    assert served.calls == []


def test_without_its_library_it_names_the_command_that_installs_it(served, monkeypatch):
    monkeypatch.setattr(importlib.util, "find_spec", lambda _: None)
    with pytest.raises(CommandFailed) as failed:
        run()
    command = str(failed.value).splitlines()[-1].strip()
    words = shlex.split(command)
    assert words[:4] == [sys.executable, "-m", "pip", "install"]
    assert len(words) == 5
    assert re.fullmatch(r"bumble[<>=.,\d]+", words[4])
    assert served.calls == []


def test_a_package_without_the_extra_still_names_the_library(monkeypatch):
    monkeypatch.setattr(bumble_here.metadata, "requires", lambda _: None)
    assert bumble_here.install_command().endswith(" install bumble")


def test_help_is_plain_and_gives_examples():
    text = re.sub(r"\s+", " ", run("--help").output)
    for jargon in ("MCAP", "GATT", "HCI", "websocket", "UUID", "**", "TEXT"):
        assert jargon not in text
    for example in ("--fit asked", "--loss 5", "--transport usb:0 --transport usb:1", "--transport vhci"):
        assert example in text
