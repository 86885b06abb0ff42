"""Virtual practices in which a sensor is turned on its segment, or put on end for end, at some time after the fit."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

from scipy.spatial.transform import Rotation

from sensors.events import RawPacket, SourceEvent
from sensors.ids import Role
from sensors.virtual.session import START_NS, VirtualSession

END_FOR_END = Rotation.from_euler("x", 180, degrees=True)


def rolled(degrees: float) -> Rotation:
    """About the segment's long axis: the forearm's, or the club's shaft."""
    return Rotation.from_euler("y", degrees, degrees=True)


def turned_events(
    session: VirtualSession, role: Role, turn: Rotation, from_s: float, until_s: float = math.inf
) -> Iterator[SourceEvent]:
    """The events of a practice in which the sensor sits otherwise between two times, but for its own errors the same."""
    mounts = {Role.FOREARM: "forearm_mount", Role.CLUB: "club_mount"}
    mount = turn * getattr(session.build, mounts[role])
    other = replace(session, build=replace(session.build, **{mounts[role]: mount}))
    sensor = session.links[role].sensor
    pairs = zip(session.events(), other.events(), strict=True)
    for usual, turned in pairs:
        moved = isinstance(usual, RawPacket) and usual.sensor == sensor
        yield turned if moved and from_s <= (usual.arrival_ns - START_NS) * 1e-9 < until_s else usual
