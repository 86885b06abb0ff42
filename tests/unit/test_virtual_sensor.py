"""The virtual sensor's own doing: commands, trouble on purpose, lines from the keyboard, what is told of it all."""

from __future__ import annotations

import asyncio
import itertools

import pytest

from sensors.ids import Move, Role
from sensors.profiles.open_imu import COMMAND_IDENTIFY, COMMAND_START, COMMAND_STOP
from sensors.virtual.air.faults import Loses
from sensors.virtual.air.pair import Blinks
from sensors.virtual.air.sensor import BadCommand, Identity, VirtualSensor
from sensors.virtual.air.transport import TransportFailed, TransportTrouble, opened
from sensors.virtual.stage.script import TakeUp
from sensors.virtual.stage.stage import MoveAhead, MoveBegun, SwingAhead
from server.cli.virtual_keyboard import HELP, NotUnderstood, obey
from server.virtual_advice import news_sentence, transport_sentence

IDENTITY = Identity(address="C0:00:00:00:00:0A", name="forearm")


class Sent:
    def __init__(self):
        self.payloads = []
        self.enough = asyncio.Event()

    async def __call__(self, payload):
        self.payloads.append(payload)
        if len(self.payloads) >= 5:
            self.enough.set()


class Board:
    def __init__(self):
        self.told = []

    def set_rate(self, rate_hz):
        if rate_hz == 7:
            raise ValueError(rate_hz)
        self.told.append(("rate", rate_hz))

    def set_gyr_range(self, range_deg_s):
        self.told.append(("gyr", range_deg_s))

    def set_acc_range(self, range_g):
        self.told.append(("acc", range_g))


def numbered():
    return ((0.001 * n, bytes([n % 256])) for n in itertools.count())


async def test_it_streams_only_while_started_and_listened_to():
    sent = Sent()
    sensor = VirtualSensor(IDENTITY, numbered(), sent)
    sensor.command(COMMAND_START)
    assert not sensor.listened_to
    sensor.notify(True)
    assert sensor.listened_to
    await sent.enough.wait()
    sensor.command(COMMAND_STOP)
    n = len(sent.payloads)
    for _ in range(20):
        await asyncio.sleep(0)
    assert len(sent.payloads) == n
    assert sent.payloads == [bytes([k]) for k in range(n)]
    sensor.close()


async def test_what_is_lost_is_missing_and_counted():
    sent = Sent()
    losses = itertools.cycle([False, True])
    sensor = VirtualSensor(IDENTITY, numbered(), sent, loses=lambda: next(losses))
    sensor.notify(True)
    sensor.command(COMMAND_START)
    await sent.enough.wait()
    sensor.close()
    assert sent.payloads[:5] == [bytes([k]) for k in (0, 2, 4, 6, 8)]
    assert sensor.n_lost >= 4


def test_losses_are_as_many_as_asked_and_repeat_with_the_seed():
    drawn = [Loses(0.2, 3)() for _ in range(1)] + [loses() for loses in [Loses(0.2, 3)] for _ in range(5000)]
    assert sum(drawn[1:]) == pytest.approx(1000, abs=120)
    first, second = Loses(0.2, 3), Loses(0.2, 3)
    assert [first() for _ in range(50)] == [second() for _ in range(50)]
    assert not any(Loses(0.0, 3)() for _ in range(50))


async def test_commands_of_the_profile():
    blinked, board = [], Board()
    sensor = VirtualSensor(IDENTITY, numbered(), Sent(), settings=board, identified=lambda: blinked.append(True))
    sensor.command(COMMAND_IDENTIFY)
    assert blinked == [True]
    sensor.command(b"\x03" + (400).to_bytes(2, "little"))
    sensor.command(b"\x04" + (1000).to_bytes(2, "little"))
    sensor.command(b"\x05" + (8).to_bytes(2, "little"))
    assert board.told == [("rate", 400), ("gyr", 1000), ("acc", 8)]
    for bad in (b"\x03", b"\x03\x07\x00", b"\x04\x01"):
        with pytest.raises(BadCommand):
            sensor.command(bad)
    sensor.command(b"\x99")  # of a later version of the profile: nothing happens
    with pytest.raises(BadCommand):
        VirtualSensor(IDENTITY, numbered(), Sent()).command(b"\x03\xc8\x00")


class FakePeripheral:
    def __init__(self, log, role):
        self.log, self.role = log, role
        self.sensor = VirtualSensor(IDENTITY, numbered(), Sent())

    async def drop(self):
        self.log.append(("drop", self.role))

    async def set_battery(self, pct):
        self.log.append(("battery", self.role, pct))


class FakePair:
    def __init__(self, *roles):
        self.log = []
        self.peripherals = {role: FakePeripheral(self.log, role) for role in roles}

    def ask(self, wish):
        self.log.append(("ask", wish))

    async def restart(self, role):
        self.log.append(("restart", role))


async def test_typed_lines_are_obeyed():
    pair = FakePair(*Role)
    for line in (
        "ready palm",
        "roll",
        "Swing",
        "fault",
        "drop",
        "drop forearm",
        "restart club",
        "battery 9",
        "battery 30 forearm",
    ):
        await obey(line, pair)
    assert pair.log == [
        ("ask", TakeUp(Move.PALM)), ("ask", Move.ROLL), ("ask", 0.0), ("ask", 0.75), ("drop", Role.CLUB), ("drop", Role.FOREARM),
        ("restart", Role.CLUB), ("battery", Role.CLUB, 9), ("battery", Role.FOREARM, 30),
    ]  # fmt: skip
    await obey("silence forearm", pair)
    assert pair.peripherals[Role.FOREARM].sensor.silent
    await obey("speak forearm", pair)
    assert not pair.peripherals[Role.FOREARM].sensor.silent
    alone = FakePair(Role.FOREARM)
    await obey("drop", alone)
    assert alone.log == [("drop", Role.FOREARM)]


@pytest.mark.parametrize(
    "line", ["help", "nonsense", "battery", "battery x", "battery 101", "drop hat", "ready", "ready hat"]
)
async def test_typed_lines_that_say_nothing_are_told(line):
    with pytest.raises(NotUnderstood):
        await obey(line, FakePair(*Role))
    assert all(move in HELP for move in Move)


def test_news_say_when_to_tap_only_where_someone_has_to():
    assert 'Tap "Roll the forearm"' in news_sentence(MoveBegun(Move.ROLL), taps=True)
    assert news_sentence(MoveBegun(Move.ROLL), taps=False) == ""
    assert "Palm flat" in news_sentence(MoveAhead(Move.PALM), taps=False)
    assert "with the fault" in news_sentence(SwingAhead(0.75), taps=False)
    assert "sound" in news_sentence(SwingAhead(0.0), taps=False)
    assert "club" in news_sentence(Blinks(Role.CLUB), taps=True)


@pytest.mark.parametrize(
    ("spec", "trouble"),
    [
        ("carrier-pigeon:3", TransportTrouble.SPEC),
        ("usb:", TransportTrouble.SPEC),
        ("tcp-client:nowhere", TransportTrouble.SPEC),
        ("tcp-client:127.0.0.1:1", TransportTrouble.REFUSED),
        ("vhci:/dev/there-is-no-such-thing", TransportTrouble.MISSING),
        ("serial:/dev/there-is-no-such-thing", TransportTrouble.MISSING),
    ],
)
async def test_a_controller_that_cannot_be_had_is_told_with_what_to_do(spec, trouble):
    with pytest.raises(TransportFailed) as failed:
        await opened(spec)
    assert failed.value.trouble is trouble
    assert spec in transport_sentence(failed.value)


@pytest.mark.parametrize("trouble", TransportTrouble)
@pytest.mark.parametrize("spec", ["usb:0", "vhci"])
def test_every_trouble_has_a_sentence(spec, trouble):
    sentence = transport_sentence(TransportFailed(spec, trouble, "No luck."))
    assert sentence.endswith(".")
    assert "No luck" in sentence
    assert ".." not in sentence
