"""An invented student who hears the cue, for checks of the bookkeeping. What it does says nothing of what people do.

Rule 1: it knows nothing but the sound: when a cue that the practice's own pipeline gave began, at the packet that brought it.
Rule 2: within the swing nothing changes before `REACTION_S` have passed; the motion up to then is the same to the last bit.
Rule 3: what it keeps from swing to swing has a fast part, soon forgotten, and a slow one that stays: the form of Smith,
Ghazizadeh and Shadmehr 2006, "Interacting adaptive processes with different timescales underlie short-term motor learning",
PLoS Biol 4:e179. The sizes are ours, chosen so that some tens of reps show an effect.
"""

from __future__ import annotations

import copy
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import BSpline

from fusion.drills.drill import Drill
from fusion.outputs.cue import CueChange
from fusion.outputs.instant import Readout
from fusion.outputs.output import Output
from fusion.outputs.rep import Rep
from fusion.pipeline import Pipeline
from sensors.events import MoveStart, PlayerSet, RawPacket, SensorInfo, SourceEvent
from sensors.ids import PAIR, Role, SensorId, Side
from sensors.profiles.open_imu import OPEN_IMU
from sensors.virtual.golfer import Build
from sensors.virtual.imu import ImuFaults, draw_mount
from sensors.virtual.practice import address_ball, take_swing
from sensors.virtual.stage.acts import Act, Golfer
from sensors.virtual.stage.board import Board, Oscillators
from sensors.virtual.stage.script import FIT
from sensors.virtual.swing import SwingShape
from sensors.virtual.timeline import Timeline
from server.store.ledger import Ledger
from server.store.records import RepStored

REACTION_S: Final = 0.19
"""Simple reaction to a sound: 184 ms (n = 100, bibliomed.org/?mno=249613), 186 ms (Nihon Jibiinkoka 1990, 93:746-755)."""
CHANGING_S: Final = 0.2
"""How long a change of the motion takes, once it begins. Ours."""
LISTEN_S: Final = 0.1
"""The motion is made so far ahead at most while a cue may sound: less than it takes to react."""
START_NS: Final = 1_000_000_000


@dataclass(slots=True)
class Student:
    """How much of the fault the next swing has, 0 to 1. A deaf one is the control: the cues sound, and it does not hear them."""

    rng: np.random.Generator
    hears: bool = True
    habit: float = 0.7
    """The fault that comes of itself, and comes back."""
    unsteady: float = 0.04
    """Standard deviation from swing to swing."""
    eases: float = 0.5
    """Share of the fault that is taken back within a swing, once the cue was heard."""
    fast: float = 0.0
    slow: float = 0.0

    def intends(self) -> float:
        """The fault of the next swing."""
        return float(np.clip(self.habit - self.fast - self.slow + self.rng.normal(0.0, self.unsteady), 0.0, 1.0))

    def after(self, fault: float, *, cued: bool) -> None:
        """Remember a swing; only one in which the cue was heard teaches anything."""
        error = fault if cued and self.hears else 0.0
        self.fast = 0.6 * self.fast + 0.2 * error
        self.slow = 0.992 * self.slow + 0.06 * error


@dataclass(frozen=True, slots=True, kw_only=True)
class TwoWays:
    """One swing from the same start in two ways, which differ in the fault alone."""

    act: Act
    eased: Mapping[str, BSpline]
    start_s: float
    end_s: float

    def changed(self, onset_s: float) -> Act:
        """The swing that begins as the first and, from `onset_s` on, turns into the second."""
        curves = {name: _turned(curve, self.eased[name], onset_s) for name, curve in self.act.curves.items()}
        return replace(self.act, curves=curves)


def _turned(curve: BSpline, into: BSpline, onset_s: float) -> BSpline:
    begins: NDArray[np.float64] = curve.t[: len(curve.c)]  # no coefficient acts before its knot
    share = np.clip((begins - onset_s) / CHANGING_S, 0.0, 1.0)
    share = share**2 * (3 - 2 * share)
    return BSpline(curve.t, (1 - share) * curve.c + share * into.c, curve.k, extrapolate=True)


class Swinger(Golfer):
    """A golfer whose swings can be changed on the way."""

    def two_ways(self, fault: float, eased: float) -> TwoWays:
        rng, posture = copy.deepcopy(self._rng), self._posture
        other, *_ = self._one(eased)
        self._rng, self._posture = rng, posture
        curves, duration_s, start_s, impact_s = self._one(fault)
        act = Act(curves=curves, duration_s=duration_s, fault=fault, blow_s=impact_s)
        return TwoWays(act=act, eased=other, start_s=start_s, end_s=impact_s)

    def _one(self, fault: float) -> tuple[Mapping[str, BSpline], float, float, float]:
        at_s: list[float] = []

        def play(timeline: Timeline) -> None:
            address_ball(timeline, self._rng)
            mark = take_swing(timeline, self._rng, SwingShape(fault=fault))
            at_s.extend((mark.start_s, mark.impact_s))

        curves, duration_s = self._perform(play)
        return curves, duration_s, *at_s


@dataclass(slots=True)
class Told:
    """What became of a course."""

    reps: list[Rep] = field(default_factory=list)
    faults: list[float] = field(default_factory=list)
    """What the student was about to do, swing by swing."""
    cues: list[list[float]] = field(default_factory=list)
    """When cues began, in seconds of the practice; swing by swing."""
    readouts: list[Readout] = field(default_factory=list)
    """Of the first swing."""
    remembered: tuple[RepStored, ...] = ()
    """What the store would keep."""


class CourseOfReps:
    """A student through all blocks of a drill, the real pipeline listening."""

    def __init__(self, drill: Drill, student: Student, *, seed: int) -> None:
        rng = np.random.default_rng((seed, 99))
        build = Build(forearm_mount=draw_mount(rng), club_mount=draw_mount(rng))
        self.pipeline = Pipeline(drill)
        self._ledger = Ledger(wall_s=lambda ns: ns * 1e-9)
        self._student = student
        self._golfer = Swinger(np.random.default_rng((seed, 3)), pose_s=1.6)
        self._boards = {
            role: Board(
                role, build, Side.LEFT, ImuFaults.draw(rng),
                Oscillators(drift=float(rng.uniform(-30e-6, 30e-6)), rate_error=float(rng.uniform(-0.01, 0.01))),
                seed=16 * seed + nth,
            )
            for nth, role in enumerate(PAIR)
        }  # fmt: skip
        self._now_s = 0.0
        self._n_acts = 0
        self.told = Told()

    def run(self) -> Told:
        """Fit, then swing until the course is over."""
        self._push(PlayerSet(arrival_ns=START_NS, name="Test Player", lead_side=Side.LEFT))
        for role in PAIR:
            self._push(
                SensorInfo(arrival_ns=START_NS, sensor=_sensor(role), role=role, profile=OPEN_IMU.name, name=role.value)
            )
        for move in FIT:
            act = self._golfer.fit_move(move)
            start_s = self._now_s
            self._hear(act, start_s, start_s + act.begun_s)
            self._push(MoveStart(arrival_ns=START_NS + round(self._now_s * 1e9), move=move))
            self._hear(act, start_s, start_s + act.duration_s)
            self._n_acts += 1
        while not self.pipeline.course.over:
            self._swing()
        remembered = self._ledger.take()
        self.told.remembered = remembered.reps if remembered else ()
        return self.told

    def _swing(self) -> None:
        student, told = self._student, self.told
        fault = student.intends()
        ways = self._golfer.two_ways(fault, (1 - student.eases) * fault)
        act, start_s = ways.act, self._now_s
        told.faults.append(fault)
        told.cues.append([])
        heard = False
        self._hear(act, start_s, start_s + ways.start_s)
        while self._now_s < start_s + ways.end_s:
            for cue in self._hear(act, start_s, self._now_s + LISTEN_S):
                if student.hears and not heard:
                    heard = True
                    act = ways.changed(cue.arrival_ns * 1e-9 - START_NS * 1e-9 + REACTION_S - start_s)
        self._hear(act, start_s, start_s + ways.act.duration_s)
        self._n_acts += 1
        student.after(fault, cued=bool(told.cues[-1]))

    def _hear(self, act: Act, start_s: float, end_s: float) -> list[CueChange]:
        """Let time pass; give the cues that began."""
        due = [
            (due_s, role, payload)
            for role, board in self._boards.items()
            for due_s, payload in board.sample(act, start_s, end_s, n_acts=self._n_acts)
        ]
        self._now_s = end_s
        cues: list[CueChange] = []
        for due_s, role, payload in sorted(due):
            packet = RawPacket(arrival_ns=START_NS + round(due_s * 1e9), sensor=_sensor(role), payload=payload)
            cues += [out for out in self._push(packet) if isinstance(out, CueChange) and out.sounding]
        if cues and self.told.cues:
            self.told.cues[-1] += [cue.t_s for cue in cues]
        return cues

    def _push(self, event: SourceEvent) -> tuple[Output, ...]:
        outputs = self.pipeline.push(event)
        self._ledger.push(event, outputs, self.pipeline)
        self.told.reps += [out for out in outputs if isinstance(out, Rep)]
        if len(self.told.faults) == 1:
            self.told.readouts += [out for out in outputs if isinstance(out, Readout)]
        return outputs


def _sensor(role: Role) -> SensorId:
    return SensorId(f"virtual-{role.value}")


def both(drill: Drill, seed: int, **student: float) -> Iterator[Told]:
    """The same student twice, hearing and deaf, through the same course."""
    for hears in (True, False):
        yield CourseOfReps(
            drill, Student(rng=np.random.default_rng((seed, 5)), hears=hears, **student), seed=seed
        ).run()
