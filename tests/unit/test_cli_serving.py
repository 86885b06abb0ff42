"""`demo`, `replay`, `live`: what they hand to the service. The service itself is tested elsewhere."""

from __future__ import annotations

import re
import socket
from datetime import datetime

import pytest
from record_samples import practice
from typer.testing import CliRunner

from sensors.errors import UnknownProfile
from sensors.ids import Role, Side
from sensors.profiles.registry import PROFILES
from sensors.record.writer import Recorder
from server import packaged
from server.api.wish import StoreWish
from server.cli import demo_recording, main, ports, radio
from server.cli.failures import CommandFailed
from server.cli.remembered import Remembered, recall
from server.joining.wishes import JoinWishes

pytestmark = pytest.mark.usefixtures("home")


@pytest.fixture
def port():
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


@pytest.fixture
def recording(tmp_path):
    with Recorder(tmp_path / "a.mcap") as recorder:
        for event in practice(1.0):
            recorder.write(event)
    return tmp_path / "a.mcap"


def run(*words):
    return CliRunner().invoke(main.app, [str(word) for word in words], catch_exceptions=False)


def test_demo_repeats_the_bundled_recording(served, port):
    run("demo", "--port", port, "--no-browser", "--speed", "2")
    ((make_source, options),) = served.calls
    view = options.pop("view")
    wanted = {
        "port": port,
        "open_browser": False,
        "repeat": False,  # the deck does
        "record_to": None,
        "player": None,
        "drill": None,
        "joining": JoinWishes(lan=False),
    }
    assert {name: options[name] for name in wanted} == wanted
    assert (view.kind, view.name, view.speed) == ("demo", "hollow-fen-evening", 2.0)
    deck = options["deck"]
    assert (make_source, deck.speed, deck.path.is_file()) == (None, 2.0, True)


def test_the_demo_recording_is_found_installed_or_in_a_checkout(tmp_path, monkeypatch):
    monkeypatch.setattr(packaged, "files", lambda _: tmp_path / "server")
    with pytest.raises(CommandFailed, match="missing"):
        demo_recording.demo_recording()
    for folder in ("recordings", "server/_recordings"):
        (tmp_path / folder).mkdir(parents=True)
        (tmp_path / folder / demo_recording.NAME).touch()
        assert demo_recording.demo_recording() == tmp_path / folder / demo_recording.NAME


def test_a_drill_is_handed_over_and_live_has_one_anyway(served, port, recording, monkeypatch):
    run("demo", "--port", port, "--drill", "3-flatter-shaft")
    run("replay", recording, "--port", port, "--drill", "2-roll-the-forearm", "--second", "7-three-to-one")
    monkeypatch.setattr(radio, "source_of", lambda **_: None)
    run("live", "--forearm", "AA", "--club", "BB", "--port", port)
    assert [options["drill"].id for _, options in served.calls] == [
        "3-flatter-shaft", "2-roll-the-forearm", "1-quiet-wrist",
    ]  # fmt: skip
    second = [options["second"] for _, options in served.calls]
    assert [one and one.id for one in second] == [None, "7-three-to-one", None]
    for option in ("--drill", "--second"):
        with pytest.raises(CommandFailed, match="no drill"):
            run("demo", "--port", port, option, "none")


def test_replay_plays_once(served, port, recording):
    run("replay", recording, "--port", port, "--speed", "0")
    ((make_source, options),) = served.calls
    assert (options["repeat"], options["open_browser"], options["record_to"]) == (False, True, None)
    assert (options["view"].kind, options["view"].name, options["view"].speed) == ("replay", "a.mcap", 0.0)
    assert (make_source, options["deck"].path) == (None, recording)


def test_review_takes_in_what_is_named_and_shows_the_store(tmp_path, monkeypatch, port, recording):
    given = []
    monkeypatch.setattr("server.cli.serving.serve", lambda specs, **options: given.append((specs, options)))
    place = str(tmp_path / "store.sqlite")
    result = run("review", recording, tmp_path, "--store", place, "--port", port, "--no-browser")
    assert "0 new, 0 known already, 2 without a swing" in result.output
    wanted = {"port": port, "open_browser": False, "store": StoreWish(place=place), "view": "#review"}
    assert given == [([], wanted)]
    with pytest.raises(CommandFailed, match="is not there"):
        run("review", tmp_path / "none.mcap", "--port", port)
    run("replay", recording, "--port", port, "--store", place)
    assert given[-1][1]["store"] == StoreWish(place=place)


@pytest.mark.parametrize("words", [["demo", "--speed", "0"], ["demo", "--port", "0"], ["replay", "x", "--speed", "-1"]])
def test_impossible_options_are_refused(served, words):
    assert run(*words).exit_code == 2
    assert served.calls == []


def test_a_taken_port_is_told_before_anything_starts(served, recording):
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        taken = other.getsockname()[1]
        for words in (["demo"], ["replay", recording], ["live", "--forearm", "a", "--club", "b"]):
            with pytest.raises(CommandFailed, match=rf"Port {taken} is taken.*--port {taken + 1}"):
                run(*words, "--port", taken)
    assert served.calls == []


def test_the_last_port_of_all_suggests_the_one_before(monkeypatch):
    def refuse(*_):
        raise OSError

    monkeypatch.setattr(ports.socket.socket, "bind", refuse)
    with pytest.raises(CommandFailed, match="--port 65534"):
        ports.check_port(65535)


def test_a_reserved_port(monkeypatch):
    def refuse(*_):
        raise PermissionError

    monkeypatch.setattr(ports.socket.socket, "bind", refuse)
    with pytest.raises(CommandFailed, match="reserved"):
        ports.check_port(80)


def test_live_records_and_remembers(served, port, home, monkeypatch):
    made = []
    monkeypatch.setattr(radio, "source_of", lambda **sensors: made.append(sensors))
    run("live", "--forearm", "AA", "--club", "BB", "--lead-side", "right", "--player", "Maren", "--port", port)
    ((make_source, options),) = served.calls
    player = options["player"]
    assert (player.name, player.lead_side) == ("Maren", Side.RIGHT)
    day = datetime.now().astimezone().strftime("%Y-%m-%d")
    assert options["record_to"].parent == home / "documents" / "Pitchbend" / day
    assert re.fullmatch(rf"{day}_\d\d-\d\d-\d\d_maren\.mcap", options["record_to"].name)
    assert not options["record_to"].exists()
    assert options["repeat"] is False
    make_source()
    pair = {Role.FOREARM: "AA", Role.CLUB: "BB"}
    assert [(one["places"], one["gather"]) for one in made] == [(pair, False)]
    assert [profile.name for profile in made[0]["profiles"]] == list(PROFILES)
    assert not options["choice"].is_open
    assert recall() == Remembered(places=pair, lead_side="right", player="Maren")

    run("live", "--no-record", "--folder", home / "mine", "--port", port)
    options = served.calls[1][1]
    assert options["record_to"] is None
    assert options["player"].lead_side is Side.RIGHT
    run("live", "--folder", home / "mine", "--port", port)
    assert served.calls[2][1]["record_to"].is_relative_to(home / "mine")


def test_live_without_a_pair_lets_it_be_chosen_on_the_page_and_remembers_it(served, port, home, monkeypatch):
    made = []
    monkeypatch.setattr(radio, "source_of", lambda **sensors: made.append(sensors))
    result = run("live", "--port", port, "--player", "Maren")
    ((make_source, options),) = served.calls
    assert "on the page" in result.output
    make_source()
    assert [(one["places"], one["gather"]) for one in made] == [({}, True)]
    assert options["choice"].is_open
    assert not recall().has_pair
    options["choice"]._on_made({Role.FOREARM: "AA", Role.CLUB: "BB"})
    assert recall() == Remembered(places={Role.FOREARM: "AA", Role.CLUB: "BB"}, player="Maren")
    run("live", "--port", port)
    assert not served.calls[1][1]["choice"].is_open
    run("live", "--choose", "--port", port)
    assert served.calls[2][1]["choice"].is_open
    assert recall().has_pair  # until others are chosen


def test_a_profile_of_ones_own_reaches_the_radio(served, port, home, monkeypatch):
    made = []
    monkeypatch.setattr(radio, "source_of", lambda **sensors: made.append(sensors))
    words = ("live", "--forearm", "AA", "--club", "BB", "--port", port, "--profile", "open-imu-1@rate_hz=100")
    run(*words)
    served.calls[0][0]()
    assert made[0]["profiles"][0].name == "open-imu-1@rate_hz=100"
    with pytest.raises(UnknownProfile):
        run(*words[:-1], "my-board")


def test_the_real_source_has_each_sensor_in_its_place():
    source = radio.source_of(places={Role.FOREARM: "AA", Role.CLUB: "BB", Role.PELVIS: "CC"})
    assert source._first == ({"AA": Role.FOREARM, "BB": Role.CLUB, "CC": Role.PELVIS}, False)


@pytest.mark.parametrize("words", [[], *([name] for name in ("demo", "live", "record", "replay", "scan", "inspect"))])
def test_help_is_plain(words):
    result = run(*words, "--help")
    assert result.exit_code == 0
    text = re.sub(r"\s+", " ", result.output)
    assert len(text) > 150
    for jargon in ("MCAP", "BLE", "GATT", "websocket", "loopback", "UUID", "parse", "**", "TEXT", "range"):
        assert jargon not in text


def test_help_lists_every_command():
    text = run("--help").output
    for name in ("demo", "live", "record", "replay", "scan", "inspect"):
        assert re.search(rf"│ {name}  ", text)
