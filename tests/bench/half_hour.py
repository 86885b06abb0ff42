"""A simulated half hour of practice as arrays of samples, for orientation filters that know nothing of packets.

Sixty swings, one every half minute; between them walking, waiting, teeing up, leaning on the club and the like, whole turns of
the body included. Before every swing the club is taken anew, turned in the hand by `REGRIP_DEG`: the mounts that every filter is
given are true for the first grip only. Sensors as `ImuFaults` draws them, their scale, cross-axis and accelerometer offset
perhaps made smaller by calibration; radio with loss, soft tissue under the forearm sensor and a club that gives a little.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from fusion.rotation import Quat
from sensors.events import SourceEvent
from sensors.ids import PAIR, Move, Role, Side
from sensors.ingest import Ingest
from sensors.readings import ImuBlock
from sensors.virtual.between import AWAY, drop, regrip, stand, step_up, waggle, walk_off
from sensors.virtual.golfer import HANGING, segments
from sensors.virtual.imu import ImuFaults
from sensors.virtual.practice import WANDER, Practice, SwingMark
from sensors.virtual.session import Player, draw_session
from sensors.virtual.swing import SwingShape, swing
from sensors.virtual.timeline import Timeline
from sensors.virtual.truth import SwingTruth
from tests.orientations import quat_of

PERIOD_S = 30.0
STILL_S = 4.0
REGRIP_DEG = 2.0
"""Turn of the club in the hand from one swing to the next, standard deviation. Plausible, no source."""
LOOSE = {"skin": 0.7, "grip_x": 0.3, "grip_y": 0.2, "grip_z": 0.3, "spin": 0.3}
"""Soft tissue and grip within a swing, degrees, standard deviation: plausible, no source."""


@dataclass(frozen=True)
class Stream:
    """Samples of one sensor as they came, holes and all."""

    t_s: np.ndarray
    device_s: np.ndarray
    gyr_rad_s: np.ndarray
    acc_m_s2: np.ndarray


@dataclass(frozen=True)
class HalfHour:
    """Samples and truth. The mounts are the true ones."""

    side: Side
    events: tuple[SourceEvent, ...]
    streams: dict[Role, Stream]
    q_sensor_from_forearm: Quat
    q_sensor_from_hand: Quat
    shaft_sensor: np.ndarray
    marks: tuple[SwingMark, ...]
    truths: tuple[SwingTruth, ...]
    fitted_by_moves: bool = False
    """The events hold fit moves; the mounts are what came of them."""


def half_hour(seed: int, n_swings: int, error: float) -> HalfHour:
    rng = np.random.default_rng(seed)
    side = Side.LEFT if seed % 2 else Side.RIGHT
    session = draw_session(_practice(rng, n_swings), Player(name="Test Player", lead_side=side, club="7-iron"), seed)
    faults = {role: replace(drawn, **_shrunk(drawn, error)) for role, drawn in session.faults.items()}
    session = replace(session, faults=faults)
    events = tuple(session.events())
    body = segments(session.practice.curves, np.array([0.5 * STILL_S]), session.build, side)
    in_club = body.club_sensor.R[0].T
    return HalfHour(
        side=side,
        events=events,
        streams=streams_of(events),
        q_sensor_from_forearm=quat_of(session.build.forearm_mount.inv()),
        q_sensor_from_hand=quat_of(in_club @ body.hand.R[0]),
        shaft_sensor=in_club @ body.shaft()[0],
        marks=session.practice.swings,
        truths=session.truths(),
    )


def _shrunk(drawn: ImuFaults, error: float) -> dict[str, np.ndarray]:
    """Scale, cross-axis and accelerometer offset, as a share of what was drawn."""
    eye = np.eye(3)
    return {
        "acc_bias_m_s2": error * drawn.acc_bias_m_s2,
        "acc_matrix": eye + error * (drawn.acc_matrix - eye),
        "gyr_matrix": eye + error * (drawn.gyr_matrix - eye),
    }


def _practice(rng: np.random.Generator, n_swings: int) -> Practice:
    timeline = Timeline(HANGING)
    timeline.calm(0.0, STILL_S)
    timeline.hold(STILL_S)
    acts = [act for act in AWAY if act is not drop]
    marks = []
    for i in range(n_swings):
        while timeline.now_s < STILL_S + PERIOD_S * (i + 0.65):
            acts[int(rng.integers(len(acts)))](timeline, rng)
        regrip(timeline, rng, spread_deg=REGRIP_DEG)
        step_up(timeline, rng)
        waggle(timeline, rng)
        stand(timeline, rng)
        start_s = timeline.now_s
        shape = SwingShape(
            fault=rng.uniform(0.0, 0.8), backswing_s=rng.uniform(0.75, 1.05), downswing_s=rng.uniform(0.24, 0.31)
        )
        top_s, impact_s = swing(timeline, shape)
        marks.append(SwingMark(start_s=start_s, top_s=top_s, impact_s=impact_s))
        walk_off(timeline, rng)
    timeline.hold(1.0)
    return Practice(
        curves=timeline.curves(rng, {**WANDER, **LOOSE}),
        duration_s=timeline.now_s,
        moves=((1.0, Move.STILL),),
        swings=tuple(marks),
    )


def streams_of(events: tuple[SourceEvent, ...]) -> dict[Role, Stream]:
    """All samples by role, as they were decoded and placed in session time."""
    ingest = Ingest()
    blocks: dict[Role, list[ImuBlock]] = {role: [] for role in PAIR}
    for event in events:
        for item in ingest.push(event):
            if isinstance(item, ImuBlock):
                blocks[ingest.role_of(item.sensor)].append(item)
    return {
        role: Stream(
            t_s=np.concatenate([block.t_s for block in some]),
            device_s=np.concatenate([block.device_s for block in some]),
            gyr_rad_s=np.concatenate([block.gyr_sensor_rad_s for block in some]),
            acc_m_s2=np.concatenate([block.acc_sensor_m_s2 for block in some]),
        )
        for role, some in blocks.items()
    }
