"""Instants of the swing detector straight from the motion model's true orientations: no sensors, no estimator, no fit.

A `Scene` is a timeline as it moved. `watch` plays it to the swing's followers packet by packet, and takes a fresh zero at each
rest over the ball as the pipeline does.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from scipy.spatial.transform import Rotation

from fusion.club_state import ClubState
from fusion.drills.desk import Desk
from fusion.measure import Instant
from fusion.outputs.cue import CueChange
from fusion.outputs.instant import Angles, Phase
from fusion.outputs.rep import PhaseChange, Rep
from fusion.rotation import IDENTITY
from fusion.swing.story import SwingStory
from fusion.swing.strike import StrikeMemory
from sensors.ids import PAIR, Side
from sensors.virtual.blow import shaking
from sensors.virtual.golfer import HANGING, Build, segments
from sensors.virtual.practice import WANDER
from sensors.virtual.timeline import Timeline
from server.drills import default_drill

PACKET = 10
REST_S = 0.45
RENEW_S = 0.45
NOWHERE = ClubState(IDENTITY, IDENTITY)
REST_RATE_RAD_S = np.radians(8.0)


class Scene:
    """A timeline that has been acted, sampled at `rate_hz`."""

    def __init__(self, timeline: Timeline, rng, *, wander=1.0, rate_hz=200.0, side=Side.LEFT, blows_s=()):
        self.curves = timeline.curves(rng, {name: wander * value for name, value in WANDER.items()})
        self.t_s = np.arange(0.0, timeline.now_s, 1.0 / rate_hz) + (rng.uniform(0, 1 / rate_hz) if wander else 0.0)
        self.side, self.rate_hz = side, rate_hz
        body = segments(self.curves, self.t_s, Build(), side)
        self.forearm, self.club = body.forearm.R, body.club.R
        self.arm, self.shaft = -body.forearm.R[:, :, 1], body.shaft()
        self.rates = [body.forearm_sensor.body_rate_rad_s(), body.club_sensor.body_rate_rad_s()]
        self.forces = [body.forearm_sensor.specific_force_m_s2(), body.club_sensor.specific_force_m_s2()]
        self.forces = [
            force + shaking(self.t_s, blows_s, role, rng)[1] for force, role in zip(self.forces, PAIR, strict=True)
        ]
        self.arm_elevation = np.arcsin(np.clip(self.arm[:, 2], -1, 1))
        self.shaft_elevation = np.arcsin(np.clip(self.shaft[:, 2], -1, 1))
        self.bend = np.radians(self.curves["flexion"](self.t_s))
        self.hinge = np.radians(self.curves["ulnar"](self.t_s))
        sums = [np.cumsum(np.vstack([np.zeros((1, 3)), w]), axis=0) for w in self.rates]
        squares = [np.cumsum(np.concatenate([[0.0], (w**2).sum(axis=1)])) for w in self.rates]
        n = self.n_rest = round(REST_S * rate_hz)
        self._calm = np.zeros(len(self.t_s), dtype=bool)
        ends = np.arange(n, len(self.t_s))
        calm = np.ones(len(ends), dtype=bool)
        for s, s2 in zip(sums, squares, strict=True):
            mean = (s[ends + 1] - s[ends + 1 - n]) / n
            spread = (s2[ends + 1] - s2[ends + 1 - n]) / n - (mean**2).sum(axis=1)
            calm &= (spread < REST_RATE_RAD_S**2) & ((mean**2).sum(axis=1) < REST_RATE_RAD_S**2)
        self._calm[ends] = calm

    def zero(self, k: int) -> int | None:
        """Index of the zero when a rest over the ball ends at sample k."""
        if not self._calm[k]:
            return None
        if not -np.radians(80) <= self.shaft_elevation[k] <= -np.radians(25):
            return None
        return k - self.n_rest // 2 if self.arm_elevation[k] < -np.radians(35) else None

    def instants(self, zero: int, start: int, end: int) -> list[Instant]:
        """What the measure gives for samples [start, end), counted from the zero."""
        part = slice(start, end)
        outward = self.shaft[zero] * [1, 1, 0] / np.linalg.norm(self.shaft[zero, :2])
        right = np.array([outward[1], -outward[0], 0.0])
        trail = (1.0 if self.side is Side.LEFT else -1.0) * self.shaft[part] @ right

        def turned(R):
            return Rotation.from_matrix(np.einsum("ji,njk->nik", R[zero], R[part])).magnitude()

        def off(d):
            return np.arctan2(np.linalg.norm(np.cross(d[part], d[zero]), axis=1), d[part] @ d[zero])

        columns = np.stack(
            [
                self.t_s[part], turned(self.club), turned(self.forearm), off(self.shaft), off(self.arm),
                self.shaft_elevation[part], self.arm_elevation[part], trail, self.bend[part], self.hinge[part],
                *(np.linalg.norm(f[part], axis=1) for f in self.forces),
            ], axis=1,
        ).tolist()  # fmt: skip
        rise = self.shaft_elevation[zero]
        return [
            Instant(
                t_s=t_s,
                angles=Angles(
                    bend_rad=bend, bend_change_rad=bend - self.bend[zero], hinge_rad=hinge,
                    hinge_change_rad=hinge - self.hinge[zero], shaft_elevation_rad=shaft, arm_elevation_rad=arm,
                ),
                state=NOWHERE, wrist_possible=True, club_turn_rad=club_turn, arm_turn_rad=arm_turn, shaft_off_rad=shaft_off,
                shaft_rise_rad=shaft - rise, shaft_trail=trail_, arm_off_rad=arm_off, forearm_force_m_s2=force_a,
                club_force_m_s2=force_c,
            )
            for t_s, club_turn, arm_turn, shaft_off, arm_off, shaft, arm, trail_, bend, hinge, force_a, force_c in columns
        ]  # fmt: skip


def beginning() -> Timeline:
    """A golfer who stands away from the ball."""
    timeline = Timeline(HANGING)
    timeline.hold(0.5)
    return timeline


@dataclass
class Told:
    """What was said over a scene: phase changes and outputs, each with the time of the sample that brought it."""

    outputs: list = field(default_factory=list)
    zeros: list = field(default_factory=list)

    def add(self, t_s, outputs):
        self.outputs.extend((t_s, output) for output in outputs)

    def of(self, kind):
        return [output for _, output in self.outputs if isinstance(output, kind)]

    @property
    def reps(self):
        return self.of(Rep)

    @property
    def cues(self):
        return [cue for cue in self.of(CueChange) if cue.sounding]


def watch(scene: Scene, *, drill=None, strikes=None, every: int = PACKET, lost=()) -> Told:
    """Play a scene as the pipeline would: a follower at a rest over the ball, renewed while the golfer stands there."""
    told = Told()
    drill, strikes = drill or default_drill(), strikes or StrikeMemory()
    story, n_reps, zero = None, 0, 0
    for end in range(every, len(scene.t_s) + 1, every):
        now_s = scene.t_s[end - 1]
        if story is not None:
            packet = scene.instants(zero, end - every, end)
            packet = [i for i in packet if not any(a < i.t_s < b for a, b in lost)]
            if not packet:
                continue
            if story.phase is Phase.ADDRESS and packet[-1].club_turn_rad < np.radians(1.2):
                story.stand(packet[-1])
            else:
                for instant in packet[-1:] if story.phase is Phase.FINISH else packet:
                    told.add(instant.t_s, story.push(0, instant))
                    if story.phase is Phase.IDLE:
                        break
            if story.phase is Phase.IDLE:
                n_reps, story = story.n_reps, None
        if story is None or (story.phase in (Phase.ADDRESS, Phase.TAKEAWAY) and now_s - scene.t_s[zero] > RENEW_S):
            found = scene.zero(end - 1)
            if found is not None:
                if story is not None:
                    told.add(now_s, story.close(0))
                if story is None or story.phase is not Phase.ADDRESS:
                    told.add(now_s, [PhaseChange(arrival_ns=0, t_s=now_s, phase=Phase.ADDRESS)])
                zero = found
                told.zeros.append(scene.t_s[zero])
                standing = scene.instants(zero, zero, end)[::every]
                story = SwingStory(standing[0], Desk(drill), n_reps, strikes)
                for instant in standing[1:]:
                    story.stand(instant)
    if story is not None:
        told.add(scene.t_s[-1], story.close(0))
    return told
