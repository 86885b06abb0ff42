"""What of a source is for the practice: nothing of a sensor that is worn nowhere, everything of one that has a place."""

from __future__ import annotations

from sensors.events import (
    BatteryLevel,
    LinkChange,
    LinkState,
    MoveStart,
    RawPacket,
    SensorInfo,
    SensorPlaced,
    TrimSet,
)
from sensors.ids import Move, Role
from sensors.trim import Trim
from server.choosing.curtain import Curtain

A, B = "AA:01", "BB:02"


def placed(ns, role, sensor=A):
    return SensorPlaced(arrival_ns=ns, sensor=sensor, role=role)


def info(ns, role, sensor=A):
    return SensorInfo(arrival_ns=ns, sensor=sensor, role=role, profile="open-imu-1", name="Reed A")


def packet(ns, sensor=A):
    return RawPacket(arrival_ns=ns, sensor=sensor, payload=b"x")


def link(ns, state):
    return LinkChange(arrival_ns=ns, sensor=A, state=state)


def passed(*events):
    curtain = Curtain()
    return [one for event in events for one in curtain.passed(event)]


def test_a_sensor_with_a_place_passes_whole():
    events = [placed(1, Role.CLUB), link(2, LinkState.CONNECTING), info(3, Role.CLUB), packet(4), info(5, Role.CLUB)]
    assert passed(*events) == events


def test_a_source_that_places_nobody_passes_whole():
    events = [link(1, LinkState.SEARCHING), info(2, Role.CLUB), packet(3), MoveStart(arrival_ns=4, move=Move.STILL)]
    assert passed(*events) == events


def test_a_spare_sensor_is_kept_out_and_the_others_are_not():
    b = [placed(1, Role.CLUB, B), info(2, Role.CLUB, B), packet(8, B)]
    spare = [placed(1, Role.SPARE), link(3, LinkState.STREAMING), info(4, Role.SPARE), packet(5)]
    assert passed(*b[:2], *spare, b[2], packet(9)) == b


def test_one_that_gets_a_place_steps_out_with_all_that_is_known_of_it():
    trim = TrimSet(arrival_ns=4, sensor=A, trim=Trim())
    out = passed(
        placed(1, Role.SPARE), link(2, LinkState.CONNECTING), info(3, Role.SPARE), trim, packet(4),
        BatteryLevel(arrival_ns=5, sensor=A, battery_pct=19), link(6, LinkState.STREAMING), packet(7),
        placed(10, Role.FOREARM), info(11, Role.FOREARM), packet(12),
    )  # fmt: skip
    assert out == [
        placed(10, Role.FOREARM),
        TrimSet(arrival_ns=10, sensor=A, trim=Trim()),
        BatteryLevel(arrival_ns=10, sensor=A, battery_pct=19),
        link(10, LinkState.STREAMING),
        info(11, Role.FOREARM),
        packet(12),
    ]


def test_one_that_is_taken_off_says_so_and_is_gone():
    worn = [placed(1, Role.CLUB), info(2, Role.CLUB), packet(3)]
    off = [placed(4, Role.SPARE), info(5, Role.SPARE)]
    assert passed(*worn, *off, packet(6), link(7, LinkState.LOST)) == worn + off
    back = passed(*worn, *off, packet(6), placed(8, Role.FOREARM), info(9, Role.FOREARM), packet(10))
    assert back[5:] == [placed(8, Role.FOREARM), info(9, Role.FOREARM), packet(10)]


def test_one_that_is_taken_off_while_away_says_so_and_stays_gone():
    worn = [placed(1, Role.CLUB), link(2, LinkState.SEARCHING)]
    out = passed(*worn, placed(3, Role.SPARE), link(4, LinkState.CONNECTING), info(5, Role.SPARE), packet(6))
    assert out == [*worn, placed(3, Role.SPARE), link(4, LinkState.CONNECTING), info(5, Role.SPARE)]
