"""What the player does, written down as joint motion: a clock that runs on, where each joint rests, marks, switches.

The stage also keeps the body alive: sway and tremor everywhere but around the instants at which a sensor changes
from one carrier to another (table or fingers, limb or club), where all must be at rest for the data to be continuous.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np

from tests.truth.physics.chain import INDEX, JOINTS
from tests.truth.physics.poses import Body, Pose
from tests.truth.physics.timeline import Burst, Knots, Timeline

SWAY = {"tilt": 0.10, "side": 0.08, "turn": 0.08}  # degrees rms
SHIFT_M = {"pelvis_x": 0.003, "pelvis_y": 0.003}
TREMOR_DEG_S = {"flex": 0.3, "adduct": 0.3, "pron": 0.4, "bend": 0.3, "dev": 0.3}
LAYS_ASIDE = 0.05  # how often the club is laid aside, of all that is done between swings
REST_S = 0.25  # all quiet, on each side of a switch


@dataclass(frozen=True, slots=True)
class Move:
    """A named set-up move as the person marks it."""

    name: str
    start_s: float
    end_s: float


@dataclass(slots=True)
class Swing:
    """One full swing as meant; what it truly was is read from the engine's poses."""

    hold_s: float  # start of the last stillness over the ball
    start_s: float
    top_s: float
    impact_s: float
    finish_s: float
    hit: bool  # a ball was struck; False: a practice swing


@dataclass(slots=True)
class Stage:
    """The script while it is being written."""

    body: Body
    rng: np.random.Generator
    unrest: float = 1.0  # scales sway and tremor
    shares: Mapping[str, float] = field(default_factory=dict)  # of the imperfections whose size is not the usual
    lays_aside: float = LAYS_ASIDE
    now_s: float = 0.0
    rest: Pose = field(default_factory=lambda: dict.fromkeys(JOINTS, 0.0))
    timeline: Timeline = field(default_factory=lambda: Timeline(len(JOINTS)))
    moves: list[Move] = field(default_factory=list)
    swings: list[Swing] = field(default_factory=list)
    half_moves: list[tuple[float, float]] = field(default_factory=list)
    carriers: dict[str, list[tuple[float, str]]] = field(default_factory=dict)  # sensor -> (since, site)
    quiet_s: list[float] = field(default_factory=list)

    def begin(self, pose: Pose) -> None:
        """Where joints are at the start; before any motion."""
        self.rest.update(pose)
        for name, value in pose.items():
            self.timeline.home[INDEX[name]] = value

    def go(self, pose: Pose, seconds: float, *, wait: bool = True, late_s: float = 0.0) -> None:
        """Move the named joints to their values with least jerk."""
        for name, value in pose.items():
            self.knots(name, [self.now_s + late_s, self.now_s + late_s + seconds], [self.rest[name], value])
        if wait:
            self.now_s += seconds + late_s

    def knots(self, name, t_s, values, rates=None) -> None:
        """One joint through given values, from where it rests; it rests at the last."""
        base = self.rest[name]
        rates = [0.0] * len(t_s) if rates is None else rates
        self.timeline.add(INDEX[name], Knots(list(t_s), [v - base for v in values], rates))
        self.rest[name] = values[-1]

    def burst(self, name, seconds, tones, *, ramp_s=0.3, late_s=0.0) -> None:
        """Sinusoids (amplitude, Hz, phase) on one joint from now on, without moving the clock."""
        start_s = self.now_s + late_s
        self.timeline.add(INDEX[name], Burst(start_s, start_s + seconds, ramp_s, tones))

    def sway(self, name, seconds, rms, low_hz, high_hz, n=4, ramp_s=0.4) -> None:
        """Irregular motion of a given rms on one joint from now on."""
        hz = self.rng.uniform(low_hz, high_hz, n)
        share = rms * np.sqrt(2.0 / n)
        tones = [(share, f, self.rng.uniform(0, 2 * np.pi)) for f in hz]
        self.burst(name, seconds, tones, ramp_s=ramp_s)

    def wait(self, seconds: float) -> None:
        self.now_s += seconds

    def mark(self, name: str, start_s: float, end_s: float | None = None) -> None:
        """A person's mark: a button pressed a little late."""
        end_s = self.now_s if end_s is None else end_s
        early, late = self.rng.uniform(0.0, 0.25, 2)
        self.moves.append(Move(name, start_s + early, max(end_s - late, start_s + early + 0.5)))

    def slack(self, kind: str) -> float:
        """Size of an imperfection, 1 as usual."""
        return self.shares.get(kind, 1.0)

    def quiet(self) -> None:
        """Come to rest altogether, for a switch of carriers at this instant."""
        self.wait(REST_S)
        self.quiet_s.append(self.now_s)

    def carry(self, sensor: str, site: str) -> None:
        """From now on the sensor is on this site; only at a quiet instant."""
        assert self.quiet_s, "switch only at rest"
        assert self.quiet_s[-1] == self.now_s, "switch only at rest"
        self.carriers.setdefault(sensor, []).append((self.now_s, site))

    def follow(self, body: str, site: str) -> Pose:
        """Joint values that lay a loose body on a site as it now rests, by the shorter way round."""
        pose = dict(self.rest)
        for joint, leader, gain, zero in self.timeline.follows:
            pose[JOINTS[joint]] += gain * (pose[JOINTS[leader]] - zero)
        goal = self.body.loose(body, pose, site)
        for axis in ("rz", "ry", "rx"):
            name = f"{body}_{axis}"
            goal[name] = self.rest[name] + (goal[name] - self.rest[name] + np.pi) % (2 * np.pi) - np.pi
        return goal

    def finish(self) -> None:
        """Lay sway and tremor over the whole time between the quiet instants."""
        for start_s, end_s in pairwise([0.0, *self.quiet_s, self.now_s]):
            a, b = start_s + REST_S, end_s - REST_S
            while b - a > 1.0:
                c = b if b - a < 45.0 else a + self.rng.uniform(20.0, 30.0)
                self._alive(a, c)
                a = c - 1.0 if c < b else c
        self.quiet_s = []

    def _alive(self, start_s: float, end_s: float) -> None:
        at, self.now_s = self.now_s, start_s
        seconds, scale = end_s - start_s, self.unrest
        for name, deg in SWAY.items():
            self.sway(name, seconds, scale * np.radians(deg), 0.1, 0.5, n=5, ramp_s=1.0)
        for name, metres in SHIFT_M.items():
            self.sway(name, seconds, scale * metres, 0.1, 0.5, n=5, ramp_s=1.0)
        for name, rate_deg_s in TREMOR_DEG_S.items():
            for low_hz, high_hz, share in ((0.4, 1.2, 0.8), (3.0, 9.0, 0.6)):
                rms = scale * share * np.radians(rate_deg_s) / (np.pi * (low_hz + high_hz))
                self.sway(name, seconds, rms, low_hz, high_hz, n=4, ramp_s=1.0)
        self.now_s = at
