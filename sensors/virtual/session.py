"""A virtual pair of sensors through a whole practice: the same events that a radio would give, and the truth beside them."""

from __future__ import annotations

import heapq
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from scipy.spatial.transform import Rotation

from sensors.events import BatteryLevel, LinkChange, LinkState, MoveStart, PlayerSet, SensorInfo, SourceEvent
from sensors.ids import PAIR, Role, SensorId, Side
from sensors.profiles.open_imu import OPEN_IMU
from sensors.virtual.blow import shaking
from sensors.virtual.chain import Array
from sensors.virtual.golfer import Build, segments
from sensors.virtual.imu import ImuFaults, counts, draw_mount
from sensors.virtual.practice import Practice
from sensors.virtual.radio import Link
from sensors.virtual.truth import SwingTruth, swing_truth

START_NS = 1_000_000_000
_STRETCH = 20_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Player:
    """Who swings, with what."""

    name: str
    lead_side: Side
    club: str


@dataclass(frozen=True, slots=True, kw_only=True)
class VirtualSession:
    """A practice with its sensors: everything needed to make the events and the truth."""

    practice: Practice
    build: Build
    player: Player
    faults: dict[Role, ImuFaults]
    links: dict[Role, Link]
    seed: int

    def events(self) -> Iterator[SourceEvent]:
        """Everything a radio source would emit, in order of arrival."""
        yield PlayerSet(
            arrival_ns=START_NS, name=self.player.name, lead_side=self.player.lead_side, club=self.player.club
        )
        for role, link in self.links.items():
            yield SensorInfo(
                arrival_ns=START_NS, sensor=link.sensor, role=role, profile=OPEN_IMU.name,
                name=f"Virtual {role.value}", firmware="virtual",
            )  # fmt: skip
            yield LinkChange(arrival_ns=START_NS, sensor=link.sensor, state=LinkState.STREAMING)
            yield BatteryLevel(arrival_ns=START_NS, sensor=link.sensor, battery_pct=90 if role is Role.CLUB else 84)
        moves: Iterator[SourceEvent] = (
            MoveStart(arrival_ns=START_NS + round(t_s * 1e9), move=move) for t_s, move in self.practice.moves
        )
        streams = [self._packets(role, i) for i, role in enumerate(self.links)]
        yield from heapq.merge(moves, *streams, key=_arrival_ns)

    def _packets(self, role: Role, index: int) -> Iterator[SourceEvent]:
        rng = np.random.default_rng((self.seed, index))
        link = self.links[role]
        t_s = link.sample_times_s(self.practice.duration_s, OPEN_IMU.nominal_rate_hz)
        rate, force = self._ideal(role, t_s)
        blows_s = [mark.impact_s for mark in self.practice.swings if mark.strikes]
        shaken = shaking(t_s, blows_s, role, np.random.default_rng((self.seed, index, 7)))
        raw = counts(rate + shaken[0], force + shaken[1], self.faults[role], OPEN_IMU, rng)
        yield from link.packets(t_s, raw, START_NS, rng)

    def _ideal(self, role: Role, t_s: Array) -> tuple[Array, Array]:
        """Rate and specific force that an ideal sensor would read, (n, 3) each; stretch by stretch, to spare memory."""
        rates, forces = [], []
        for part in np.array_split(t_s, len(t_s) // _STRETCH + 1):
            body = segments(self.practice.curves, part, self.build, self.player.lead_side)
            motion = body.forearm_sensor if role is Role.FOREARM else body.club_sensor
            rates.append(motion.body_rate_rad_s())
            forces.append(motion.specific_force_m_s2())
        return np.concatenate(rates), np.concatenate(forces)

    def truths(self) -> tuple[SwingTruth, ...]:
        """Measure each swing on the model; times are true times, zero at the first event."""
        return tuple(
            swing_truth(self.practice, mark, self.build, self.player.lead_side) for mark in self.practice.swings
        )


def _arrival_ns(event: SourceEvent) -> int:
    return event.arrival_ns


def draw_session(
    practice: Practice,
    player: Player,
    seed: int,
    *,
    perfect: bool = False,
    mounts: tuple[Rotation, Rotation] | None = None,
) -> VirtualSession:
    """Draw two sensors off the shelf and strap them on. `perfect` leaves only rounding, range and packets."""
    rng = np.random.default_rng((seed, 99))
    forearm_mount, club_mount = mounts or (draw_mount(rng), draw_mount(rng))
    faults = {role: ImuFaults.none() if perfect else ImuFaults.draw(rng) for role in PAIR}
    links = {
        role: Link(
            sensor=SensorId(f"virtual-{role.value}"),
            device_start_us=int(rng.integers(0, 2**32)),
            drift=0.0 if perfect else float(rng.uniform(-30e-6, 30e-6)),
            rate_error=float(rng.uniform(-0.01, 0.01)),
            phase_s=float(rng.uniform(0.0, 0.03)),
            loss=0.0 if perfect else 0.002,
        )
        for role in PAIR
    }
    build = Build(forearm_mount=forearm_mount, club_mount=club_mount)
    return VirtualSession(practice=practice, build=build, player=player, faults=faults, links=links, seed=seed)
