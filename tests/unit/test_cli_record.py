from __future__ import annotations

import asyncio
import errno
import io
from contextlib import closing
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import pytest
from record_samples import practice
from rich.console import Console
from typer.testing import CliRunner

from sensors.battery import BatteryState, battery_state
from sensors.errors import RadioError, RecorderError
from sensors.events import ClockJump, ClockJumpCause, LinkChange, LinkReason, LinkState, PlayerSet, SensorPlaced
from sensors.health import SensorHealth
from sensors.ids import Role, Side
from sensors.record.reader import read_events
from sensors.record.sink import RecordSink
from server.cli import main, radio
from server.cli.failures import CommandFailed
from server.cli.record import Recording, status_line
from server.tape import Tape
from server.troubles import unheard_sentences

EVENTS = [event for event in practice(3.0) if not isinstance(event, PlayerSet)]
PLAYER = PlayerSet(arrival_ns=1, name="Wren", lead_side=Side.RIGHT)


class FakeSource:
    def __init__(self, events, *, endless=False, error=None):
        self.events = events
        self.endless = endless
        self.error = error
        self.closed = False

    async def __aenter__(self):
        if self.error:
            raise self.error
        return self

    async def __aexit__(self, *_):
        self.closed = True

    async def __aiter__(self):
        for event in self.events:
            yield event
            await asyncio.sleep(0)
        if self.endless:
            await asyncio.Event().wait()


@pytest.fixture
def console():
    return Console(file=io.StringIO(), force_terminal=True, width=100)


async def test_everything_is_recorded_after_the_player(tmp_path, console):
    source = FakeSource(EVENTS)
    with closing(Tape(tmp_path / "a.mcap")) as recorder:
        recording = Recording(source, recorder, PLAYER)
        await recording.run(None, console)
    first, *rest = read_events(tmp_path / "a.mcap")
    assert first == PlayerSet(arrival_ns=EVENTS[0].arrival_ns, name="Wren", lead_side=Side.RIGHT)
    assert rest == EVENTS
    assert source.closed
    assert recording.duration_s == pytest.approx(2.95)
    assert "Recording 0:00" in console.file.getvalue()


async def test_it_stops_when_the_time_is_up(tmp_path, console):
    source = FakeSource(EVENTS, endless=True)
    with closing(Tape(tmp_path / "a.mcap")) as recorder:
        await Recording(source, recorder, PLAYER).run(0.3, console)
    assert source.closed
    assert len(list(read_events(tmp_path / "a.mcap"))) == len(EVENTS) + 1


async def test_it_can_be_stopped_at_any_time(tmp_path, console):
    source = FakeSource(EVENTS, endless=True)
    shown = asyncio.Event()

    async def sleep(_):
        shown.set()
        await asyncio.sleep(0)

    with closing(Tape(tmp_path / "a.mcap")) as recorder:
        task = asyncio.ensure_future(Recording(source, recorder, PLAYER).run(None, console, sleep=sleep))
        await shown.wait()
        task.cancel()
        with pytest.raises(asyncio.CancelledError):
            await task
    assert source.closed


@pytest.mark.parametrize("error", [RadioError(LinkReason.ADAPTER_OFF), RecorderError(Path("x"), OSError("full"))])
async def test_expected_trouble_comes_out_as_itself(tmp_path, console, error):
    with closing(Tape(tmp_path / "a.mcap")) as recorder, pytest.raises(type(error)) as caught:
        await Recording(FakeSource([], error=error), recorder, PLAYER).run(None, console)
    assert caught.value is error


async def test_a_bug_is_seen_as_one(tmp_path, console):
    with closing(Tape(tmp_path / "a.mcap")) as recorder, pytest.raises(ExceptionGroup):
        await Recording(FakeSource([], error=KeyError("x")), recorder, PLAYER).run(None, console)


def link(state, reason=LinkReason.NONE):
    return LinkChange(arrival_ns=0, sensor="AA:01", state=state, reason=reason)


def health(battery_pct=None, state=LinkState.STREAMING, reason=LinkReason.NONE, role=Role.CLUB):
    return SensorHealth(
        sensor="AA:01", role=role, name="clip", state=state, reason=reason, rate_hz=199.6,
        n_samples=1, n_lost=3, n_malformed=0, battery_pct=battery_pct,
        battery=BatteryState.UNKNOWN if battery_pct is None else battery_state(battery_pct),
    )  # fmt: skip


def test_the_status_line():
    assert status_line(health(80)) == "  club: 200 samples a second, 3 lost, battery 80 %"
    assert status_line(health()) == "  club: 200 samples a second, 3 lost"
    blind = replace(health(), n_lost=None)  # its packets have neither counter nor clock
    assert status_line(blind) == "  club: 200 samples a second, loss unknown"
    assert "battery 4 %. Its battery is nearly empty" in status_line(health(4))
    assert status_line(health(role=Role.LEAD_UPPER_ARM)).startswith("  lead upper arm: 200")
    searching = status_line(health(state=LinkState.SEARCHING))
    assert searching == "  club: searching. Looking for this sensor. Switch it on and keep it near."
    lost = status_line(health(state=LinkState.LOST, reason=LinkReason.OUT_OF_RANGE))
    assert lost.startswith("  club: lost. The sensor is out of range")
    assert lost.endswith("goes on by itself.")


@pytest.fixture
def config(tmp_path, monkeypatch):
    monkeypatch.setattr("platformdirs.user_config_dir", lambda *_, **__: str(tmp_path / "config"))
    monkeypatch.setattr("platformdirs.user_data_dir", lambda *_, **__: str(tmp_path / "data"))


def test_the_command(tmp_path, config, monkeypatch):
    monkeypatch.setattr(radio, "source_of", lambda **_: FakeSource(EVENTS))
    words = ["record", "--forearm", "A", "--club", "B", "--folder", str(tmp_path / "out"), "--player", "Wren"]
    words.append("--no-store")
    result = CliRunner().invoke(main.app, words, catch_exceptions=False)
    assert result.exit_code == 0
    (path,) = (tmp_path / "out").rglob("*.mcap")
    assert str(path) in result.stdout.replace("\n", "")
    assert len(list(read_events(path))) == len(EVENTS) + 1


def test_a_disk_that_fails_ends_in_a_sentence_and_what_was_recorded_stays(tmp_path, config, monkeypatch):
    write = RecordSink.write

    def small_disk(sink, data):
        if sink.tell() > 8000:
            raise OSError(errno.ENOSPC, "No space left on device")
        return write(sink, data)

    monkeypatch.setattr(radio, "source_of", lambda **_: FakeSource(EVENTS))
    monkeypatch.setattr("sensors.record.background.LEAST_FREE_BYTES", 10**18)
    monkeypatch.setattr(RecordSink, "write", small_disk)
    words = ["record", "--forearm", "A", "--club", "B", "--folder", str(tmp_path / "out"), "--player", "Wren"]
    words.append("--no-store")
    with pytest.raises(CommandFailed, match=r"the disk is full.*Not recorded: the last \d+ s"):
        CliRunner().invoke(main.app, words, catch_exceptions=False)
    (path,) = (tmp_path / "out").rglob("*.mcap")
    kept = list(read_events(path))
    assert kept[1:] == EVENTS[: len(kept) - 1]
    assert len(kept) > 10


async def test_a_clock_that_jumps_while_recording_is_told_and_kept(tmp_path, console):
    jumps = [(ClockJump(arrival_ns=1, cause=ClockJumpCause.SLEEP, seconds=600.0),)]
    watch = SimpleNamespace(look=lambda: jumps.pop() if jumps else ())
    with closing(Tape(tmp_path / "a.mcap")) as tape:
        recording = Recording(FakeSource(EVENTS), tape, PLAYER, watch=watch)
        await recording.run(None, console)
    assert "slept for 10 min" in recording.told[ClockJumpCause.SLEEP]
    stamps = [event.arrival_ns for event in read_events(tmp_path / "a.mcap")]
    assert stamps == sorted(stamps)


def test_nothing_recorded_leaves_nothing_behind(tmp_path, config, monkeypatch):
    source = FakeSource(
        [
            SensorPlaced(arrival_ns=0, sensor="AA:01", role=Role.CLUB),
            link(LinkState.SEARCHING, LinkReason.NOT_FOUND),
            link(LinkState.SEARCHING, LinkReason.IN_USE),
        ]
    )
    monkeypatch.setattr(radio, "source_of", lambda **_: source)
    words = ["record", "--forearm", "A", "--club", "B", "--folder", str(tmp_path / "out")]
    why = "Nothing was recorded. Nothing came from the club sensor. Another program on this computer is using"
    with pytest.raises(CommandFailed, match=why):
        CliRunner().invoke(main.app, words, catch_exceptions=False)
    assert list((tmp_path / "out").rglob("*.mcap")) == []


def test_of_sensors_that_sent_nothing_it_says_why_and_of_the_computer_once():
    away = replace(health(state=LinkState.SEARCHING), n_samples=0)
    off = [replace(away, reason=LinkReason.ADAPTER_OFF, role=role) for role in (Role.FOREARM, Role.CLUB)]
    (text,) = unheard_sentences(off)
    assert text.startswith("Bluetooth is switched off on this computer.")
    assert unheard_sentences([health(), away]) == ["Nothing came from the club sensor. Switch it on and bring it near."]


class FakeRadio:
    in_reach = ()

    def __init__(self, profiles):
        assert profiles[0].name == "open-imu-1"

    def scan(self):
        return self.in_reach


def test_scan_lists_what_is_near(monkeypatch):
    class Near:
        sensor, name, rssi_dbm, kind = "AA:01", "band", -61, "Test board"

    monkeypatch.setattr("server.cli.scan.BluetoothRadio", FakeRadio)
    monkeypatch.setattr(FakeRadio, "in_reach", [Near])
    told = CliRunner().invoke(main.app, ["scan"], catch_exceptions=False).stdout
    assert "AA:01" in told
    assert "Test board" in told
    monkeypatch.setattr(FakeRadio, "in_reach", [])
    with pytest.raises(CommandFailed, match="No sensors found"):
        CliRunner().invoke(main.app, ["scan"], catch_exceptions=False)
