"""Choosing through the engine: what pages see, what the source is told, what is recorded, what is remembered."""

from __future__ import annotations

import asyncio
import json
from contextlib import asynccontextmanager

import numpy as np
import pytest

from fusion.outputs.fit import FitState
from sensors.errors import RadioError
from sensors.events import (
    BatteryLevel,
    LinkChange,
    LinkReason,
    LinkState,
    RawPacket,
    SensorInfo,
    SensorPlaced,
)
from sensors.ids import Move, Role
from sensors.profiles.open_imu import NAME, pack
from sensors.record.reader import read_events
from sensors.sources.base import WornElsewhere
from server.choosing.choice import Choice
from server.engine import Engine, default_pipeline
from server.tape import Tape
from server.wire_client import BlinkMessage, ChooseMessage, PlaceMessage, SwapMessage
from tests.live_service import DEMO, LIVE, HandSource, drain, never

A, B, C = "AA:01", "BB:02", "CC:03"
SAMPLE_US = 5_000


class HandRadio(HandSource):
    """A source whose sensors follow what they are told, as the radio's do."""

    def __init__(self):
        super().__init__()
        self.controls = self
        self.trouble = LinkReason.NONE
        self.waits_for = None
        self.worn_elsewhere = ()
        self.roles = {}
        self.gathering = []
        self.blinked = []
        self.now_ns = 0
        self._sequence = 0

    def place(self, roles):
        for sensor, role in self.roles.items():
            if sensor not in roles and role in set(roles.values()) - {Role.SPARE}:
                self.say(sensor, Role.SPARE)
        for sensor, role in roles.items():
            self.say(sensor, role)

    def say(self, sensor, role):
        self.roles[sensor] = role
        self.feed(
            SensorPlaced(arrival_ns=self.now_ns, sensor=sensor, role=role),
            SensorInfo(arrival_ns=self.now_ns, sensor=sensor, role=role, profile=NAME, name=f"Reed {sensor[0]}"),
        )

    def gather(self, *, on):
        self.gathering.append(on)

    async def blink(self, sensor):
        if sensor != A:
            raise RadioError(LinkReason.NOT_FOUND, sensor)
        self.blinked.append(sensor)

    def stream(self, seconds, turning=()):
        """All sensors send; those in `turning` turn at 244 deg/s, the others lie still."""
        for _ in range(round(seconds * 20)):
            self.now_ns += 50_000_000
            self._sequence += 1
            for sensor in self.roles:
                counts = np.zeros((10, 6), np.int16)
                counts[:, 5] = 2048
                if sensor in turning:
                    counts[:, 0] = 4000
                payload = pack(sequence=self._sequence, clock_us=self._sequence * 10 * SAMPLE_US, counts=counts)
                self.feed(RawPacket(arrival_ns=self.now_ns, sensor=sensor, payload=payload))


class Stand:
    def __init__(self, *, is_open=True, view=LIVE, source=None, tape=None):
        self.source = source or HandRadio()
        self.made, self.told = [], []
        self.engine = Engine(
            lambda: self.source, view=view, sleep=never, tape=tape, make_pipeline=default_pipeline,
            choice=Choice(is_open=is_open, on_made=self.made.append), tell=self.told.append,
            clock_ns=lambda: 0,
        )  # fmt: skip
        self.mailbox = self.engine.hub.join()

    @asynccontextmanager
    async def running(self):
        task = asyncio.create_task(self.engine.run())
        await asyncio.sleep(0)
        try:
            yield self
        finally:
            task.cancel()
            await asyncio.wait({task})
        if not task.cancelled():
            task.result()

    async def heard(self):
        await self.source.taken()
        return await drain(self.mailbox)

    async def paired(self):
        """A remembered pair streams."""
        self.source.place({A: Role.FOREARM, B: Role.CLUB})
        self.source.stream(0.5)
        await self.heard()

    async def view(self):
        """What a page shows now."""
        return [m for m in await self.heard() if m["type"] == "choosing"][-1]["choosing"]

    async def do(self, message):
        problem = await self.engine.choose(message)
        await self.source.taken()
        return problem.code if problem else None


async def test_the_one_that_moves_lights_up_is_placed_and_the_practice_begins(tmp_path):
    stand = Stand(tape=Tape(tmp_path / "a.mcap"))
    source = stand.source
    async with stand.running():
        assert source.gathering == [True]
        first = await stand.view()
        assert first["open"]
        assert first["sensors"] == []
        assert "Switch both on" in first["instruction"]
        for sensor in (A, B, C):
            source.say(sensor, Role.SPARE)
        source.stream(1.0, turning=(B,))
        view = await stand.view()
        assert [(s["sensor"], s["moving"]) for s in view["sensors"]] == [(A, False), (B, True), (C, False)]
        assert view["sensors"][1]["activity"] > 0.5 > 0.1 > view["sensors"][0]["activity"]
        assert view["wanted"] == "forearm"
        assert "lead forearm" in view["instruction"]
        assert await stand.do(ChooseMessage(open=False)) == "not_complete"
        assert await stand.do(PlaceMessage(sensor=B, role=Role.FOREARM)) is None
        source.stream(1.0, turning=(A, C))
        view = await stand.view()
        assert not any(s["moving"] for s in view["sensors"])  # two at once
        assert view["wanted"] == "club"
        assert await stand.do(PlaceMessage(sensor=A, role=Role.CLUB)) is None
        assert await stand.do(PlaceMessage(sensor=C, role=Role.PELVIS)) is None
        assert stand.made == []
        assert await stand.do(ChooseMessage(open=False)) is None
        assert stand.made == [{Role.FOREARM: B, Role.CLUB: A, Role.PELVIS: C}]
        assert source.gathering == [True, False]
        source.stream(0.5)
        messages = await stand.heard()
        assert [m["choosing"]["open"] for m in messages if m["type"] == "choosing"][-1] is False
        assert {m["type"] for m in messages[-10:]} <= {"frame", "sensors", "choosing"}
    recorded = list(read_events(tmp_path / "a.mcap"))
    assert not any(getattr(event, "role", None) is Role.SPARE for event in recorded)
    first_of = {s: min(e.arrival_ns for e in recorded if isinstance(e, RawPacket) and e.sensor == s) for s in (A, B)}
    assert first_of[B] == 1_050_000_000  # from the moment that it had its place
    assert first_of[A] == 2_050_000_000


async def test_a_pair_that_is_exchanged_is_remembered_and_voids_the_fit():
    stand = Stand(is_open=False)
    source = stand.source
    async with stand.running():
        await stand.paired()
        assert stand.made == [{Role.FOREARM: A, Role.CLUB: B}]
        assert stand.engine.begin_move(Move.STILL) is None
        source.stream(3.0)
        fit = [m for m in await stand.heard() if m["type"] == "fit"][-1]
        assert fit["state"] == FitState.TAKEN
        assert await stand.do(SwapMessage()) is None
        source.stream(0.2)
        messages = await stand.heard()
        assert [m for m in messages if m["type"] == "hello"][-1]["fit"]["taken"] == []
        assert stand.made[-1] == {Role.FOREARM: B, Role.CLUB: A}
        sensors = [m for m in messages if m["type"] == "sensors"][-1]["sensors"]
        assert [(s["sensor"], s["role"]) for s in sensors] == [(B, "forearm"), (A, "club")]


async def test_other_sensors_can_be_chosen_in_the_middle_of_a_practice():
    stand = Stand(is_open=False)
    source = stand.source
    async with stand.running():
        await stand.paired()
        assert await stand.do(ChooseMessage(open=True)) is None
        source.say(C, Role.SPARE)
        source.stream(1.0, turning=(C,))
        view = await stand.view()
        assert [s["moving"] for s in view["sensors"]] == [False, False, True]
        assert view["complete"]
        n_packets = stand.engine.n_packets
        assert await stand.do(PlaceMessage(sensor=C, role=Role.CLUB)) is None
        assert await stand.do(ChooseMessage(open=False)) is None
        assert stand.made[-1] == {Role.FOREARM: A, Role.CLUB: C}
        source.stream(0.5)
        await stand.heard()
        assert stand.engine.n_packets == n_packets + 2 * 10  # of the two that are worn
        assert [s.sensor for s in stand.engine.hub.present.sensors] == [A, C]


async def test_a_place_can_be_taken_back():
    stand = Stand()
    async with stand.running():
        stand.source.say(A, Role.SPARE)
        await stand.heard()
        assert await stand.do(PlaceMessage(sensor=A, role=Role.CLUB)) is None
        assert (await stand.view())["sensors"][0]["role"] == "club"
        assert await stand.do(PlaceMessage(sensor=A, role=Role.SPARE)) is None
        view = await stand.view()
        assert view["sensors"][0]["role"] == "spare"
        assert view["wanted"] == "forearm"


async def test_what_cannot_be_done_says_why():
    stand = Stand()
    async with stand.running():
        assert await stand.do(PlaceMessage(sensor="never heard", role=Role.CLUB)) == "unknown_sensor"
        assert await stand.do(SwapMessage()) == "no_pair"
        assert await stand.do(BlinkMessage(sensor=B)) == "no_blink"
        assert await stand.do(BlinkMessage(sensor=A)) is None
        assert stand.source.blinked == [A]
        stand.source.end()
        while not stand.engine.hub.present.ended:
            await asyncio.sleep(0)
        assert (await stand.engine.choose(ChooseMessage(open=True))).code == "no_choice"


@pytest.mark.parametrize("message", [ChooseMessage(open=True), SwapMessage(), BlinkMessage(sensor=A)])
async def test_a_recording_has_no_sensors_to_choose_from(message):
    stand = Stand(is_open=False, view=DEMO, source=HandSource())
    async with stand.running():
        assert await stand.do(message) == "no_choice"
        assert [m["type"] for m in await drain(stand.mailbox)] == ["hello"]
        (hello,) = stand.engine.hub.present.opening()
        assert hello.choosing is None


async def test_a_radio_that_is_off_is_told_while_choosing():
    stand = Stand()
    stand.source.trouble = LinkReason.ADAPTER_OFF
    async with stand.running():
        view = await stand.view()
        assert view["trouble"] == "adapter_off"
        assert "Bluetooth is switched off" in view["instruction"]
        stand.source.say(A, Role.SPARE)
        await stand.heard()
        (told,) = stand.told  # in the terminal, once
        assert told.startswith("Bluetooth is switched off on this computer. Switch it on")
        off = LinkChange(arrival_ns=1_000_000_000, sensor=A, state=LinkState.SEARCHING, reason=LinkReason.ADAPTER_OFF)
        stand.source.feed(off)
        (sensor,) = (await stand.view())["sensors"]
        assert (sensor["reason"], sensor["advice"]) == ("adapter_off", "")  # the instruction says it


async def test_a_sensor_that_has_its_place_and_cannot_be_read_is_named():
    stand = Stand()
    async with stand.running():
        stand.source.place({A: Role.FOREARM, B: Role.CLUB})
        stand.source.stream(0.5)
        assert (await stand.view())["instruction"].startswith("Both places are given. Start")
        wrong = LinkChange(arrival_ns=stand.source.now_ns, sensor=B, state=LinkState.LOST, reason=LinkReason.IN_USE)
        stand.source.feed(wrong)
        stand.source.now_ns += 200_000_000
        stand.source.say(A, Role.FOREARM)
        view = await stand.view()
        assert "but Reed B cannot be read: what to do stands beside it" in view["instruction"]
        assert view["sensors"][1]["advice"]


async def test_a_late_page_sees_the_choice():
    stand = Stand()
    async with stand.running():
        stand.source.say(A, Role.SPARE)
        stand.source.stream(0.5, turning=(A,))
        await stand.heard()
        hello = json.loads(await stand.engine.hub.join().take())
        assert hello["choosing"]["sensors"][0]["moving"]


async def test_trouble_and_batteries_are_told_in_the_terminal_and_on_top_of_the_page():
    stand = Stand(is_open=False)
    source = stand.source
    async with stand.running():
        source.place({A: Role.FOREARM, B: Role.CLUB})
        source.feed(
            LinkChange(arrival_ns=1, sensor=A, state=LinkState.SEARCHING, reason=LinkReason.NOT_FOUND),
            BatteryLevel(arrival_ns=2, sensor=B, battery_pct=50),
            BatteryLevel(arrival_ns=3, sensor=B, battery_pct=20),
            BatteryLevel(arrival_ns=4, sensor=B, battery_pct=19),
        )
        messages = await stand.heard()
        sensors = [m for m in messages if m["type"] == "sensors"][-1]["sensors"]
        assert [sensors[0][name] for name in ("role", "state", "reason")] == ["forearm", "searching", "not_found"]
        problems = [m for m in messages if m["type"] == "problem"]
        assert [p["code"] for p in problems] == [f"battery:{B}"]
        assert len(stand.told) == 2
        assert stand.told[0].startswith("Forearm: The sensor is not in sight")
        assert "Club sensor: Its battery is low (20 %)" in stand.told[1]
        source.feed(BatteryLevel(arrival_ns=5, sensor=B, battery_pct=100))
        assert [m["type"] for m in await stand.heard()][-1] == "hello"
        assert len(stand.engine.hub.present.opening()) == 1


async def test_a_sensor_whose_battery_ran_down_is_not_told_to_be_about_to_stop():
    stand = Stand(is_open=False)
    source = stand.source
    async with stand.running():
        source.place({A: Role.FOREARM, B: Role.CLUB})
        source.feed(BatteryLevel(arrival_ns=1, sensor=B, battery_pct=3))
        assert [m["code"] for m in await stand.heard() if m["type"] == "problem"] == [f"battery:{B}"]
        source.feed(LinkChange(arrival_ns=2, sensor=B, state=LinkState.LOST, reason=LinkReason.BATTERY_EMPTY))
        messages = await stand.heard()
        assert len(stand.engine.hub.present.opening()) == 1  # nothing on top any more
        club = [m for m in messages if m["type"] == "sensors"][-1]["sensors"][1]
        assert "nearly empty, and it has gone" in club["advice"]
        assert club["battery_advice"] == ""


async def test_a_sensor_worn_in_another_bay_is_named_and_not_offered():
    async with Stand().running() as stand:
        stand.source.worn_elsewhere = (WornElsewhere(sensor=C, name="Reed C", bay="Anna"),)
        stand.source.say(A, Role.SPARE)
        stand.source.say(C, Role.SPARE)  # as while it is being let go by the other bay
        assert (await stand.heard())[-1]["choosing"]["elsewhere"] == ["Reed C is worn in bay Anna."]
        problem = await stand.engine.choose(PlaceMessage(sensor=C.lower(), role=Role.CLUB))
        assert (problem.code, problem.text.partition(".")[0]) == ("worn_elsewhere", "Reed C is worn in bay Anna")
        assert stand.source.roles == {A: Role.SPARE, C: Role.SPARE}


async def test_while_another_bay_chooses_this_one_waits_and_can_go_first():
    stand = Stand(is_open=False)
    async with stand.running():
        stand.source.waits_for = "Anna"
        assert await stand.engine.choose(ChooseMessage(open=True)) is None
        choosing = (await stand.heard())[-1]["choosing"]
        assert choosing["waiting"]
        assert choosing["instruction"].startswith("Bay Anna is choosing its sensors")
        assert stand.source.gathering == [True]
        assert await stand.engine.choose(ChooseMessage(open=True)) is None
        assert stand.source.gathering == [True, True]  # asked again: it goes first
        stand.source.waits_for = None
        assert await stand.engine.choose(ChooseMessage(open=True)) is None
        assert stand.source.gathering == [True, True]
        assert not (await stand.heard())[-1]["choosing"]["waiting"]
