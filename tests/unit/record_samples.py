"""A short made-up practice for the tests of recordings: two sensors, every kind of event, packets that all differ."""

from __future__ import annotations

import numpy as np

from sensors.events import (
    BatteryLevel,
    LinkChange,
    LinkReason,
    LinkState,
    MoveStart,
    PlayerSet,
    RawPacket,
    SensorInfo,
    SourceEvent,
)
from sensors.ids import Move, Role, SensorId, Side
from sensors.profiles.open_imu import NAME, pack

FOREARM = SensorId("C0:FF:EE:00:00:01")
CLUB = SensorId("C0:FF:EE:00:00:02")
START_NS = 7_000_000_123
WALL_NS = 1_790_000_000_123_456_789


def packet(sensor: SensorId, sequence: int, arrival_ns: int) -> RawPacket:
    counts = np.random.default_rng((sequence, sensor == CLUB)).integers(-3000, 3000, (10, 6)).astype(np.int16)
    return RawPacket(
        arrival_ns=arrival_ns,
        sensor=sensor,
        payload=pack(sequence=sequence, clock_us=50_000 * (sequence + 1), counts=counts),
    )


def introductions() -> list[SourceEvent]:
    return [
        PlayerSet(arrival_ns=START_NS, name="Wren Øster", lead_side=Side.RIGHT, club="7 iron"),
        SensorInfo(arrival_ns=START_NS, sensor=FOREARM, role=Role.FOREARM, profile=NAME, name="band", firmware="1.2"),
        SensorInfo(arrival_ns=START_NS, sensor=CLUB, role=Role.CLUB, profile=NAME, name="clip"),
        LinkChange(arrival_ns=START_NS, sensor=CLUB, state=LinkState.STREAMING),
        BatteryLevel(arrival_ns=START_NS, sensor=CLUB, battery_pct=88),
        MoveStart(arrival_ns=START_NS, move=Move.STILL),
    ]


def packets(seconds: float) -> list[SourceEvent]:
    out: list[SourceEvent] = []
    for i in range(int(seconds * 20)):
        out.append(packet(FOREARM, i, START_NS + i * 50_000_000))
        out.append(packet(CLUB, i, START_NS + i * 50_000_000 + 7))
    return out


def practice(seconds: float = 10.0) -> list[SourceEvent]:
    body = packets(seconds)
    end_ns = body[-1].arrival_ns
    lost = LinkChange(arrival_ns=end_ns, sensor=CLUB, state=LinkState.LOST, reason=LinkReason.DROPPED)
    return [*introductions(), *body, lost]
