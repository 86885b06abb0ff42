"""One swing from its address: measures, finds the phases, minds the drill, and makes the rep."""

from __future__ import annotations

import math

from fusion.address import Address
from fusion.calibration.fit import BodyFit
from fusion.drills.drill import Drill
from fusion.drills.monitor import DrillMonitor, Edge
from fusion.measure import SwingMeasure
from fusion.outputs import Angles, CueChange, Doubt, Output, Phase, PhaseChange, Readout, Rep
from fusion.pairing import Pair
from fusion.swing.detector import Step, SwingDetector
from fusion.swing.phases import BACKSWING
from fusion.swing.reps import RepBuilder

_AT_BALL_RAD = math.radians(1.2)
_STANDING_STRIDE = 10
_REP_ENDS = (Phase.IMPACT, Phase.IDLE)


class SwingFollower:
    """Lives from a rest at address until the swing is over; a new rest at address replaces it.

    `pairs` are the instants from the address to now, at least one.
    """

    def __init__(self, address: Address, pairs: list[Pair], fit: BodyFit, drill: Drill, n_reps: int) -> None:
        self._address = address
        self._drill = drill
        self.n_reps = n_reps
        """Reps of the practice so far, this swing's included once it is one."""
        self.doubt = Doubt.NONE
        self._measure = SwingMeasure(address, fit)
        self._instant = self._measure.push(*pairs[0])
        self._detector = SwingDetector(self._instant)
        self._monitor = DrillMonitor(drill)
        self._rep = RepBuilder(address.t_s)
        for k in range(1, len(pairs), _STANDING_STRIDE):
            self._standing(pairs[k : k + _STANDING_STRIDE])

    @property
    def phase(self) -> Phase:
        """Where the swing is."""
        return self._detector.phase

    @property
    def address_s(self) -> float:
        """When its zero was taken."""
        return self._address.t_s

    @property
    def over(self) -> bool:
        """Nothing more will come of it."""
        return self._detector.phase is Phase.IDLE

    def push(self, arrival_ns: int, pairs: list[Pair]) -> list[Output]:
        """Advance by the instants that a packet completed."""
        out: list[Output] = []
        if self._standing(pairs):
            return out
        for t_s, q_forearm, q_club in pairs[-1:] if self.phase is Phase.FINISH else pairs:
            if self.over:
                break
            instant = self._instant = self._measure.push(t_s, q_forearm, q_club)
            if not instant.wrist_possible and self.doubt is Doubt.NONE and self.phase in BACKSWING:
                self.doubt = Doubt.OUT_OF_RANGE
            for step in self._detector.push(instant):
                out.extend(self._step(arrival_ns, step))
            edge = self._monitor.push(t_s, self.phase, instant.angles, self.doubt)
            if edge is not None:
                out.append(_cue(arrival_ns, edge))
        return out

    def _standing(self, pairs: list[Pair]) -> bool:
        """While the club stays at the ball one instant a packet will do; True if that was so."""
        if self.phase is not Phase.ADDRESS or self._measure.club_turn(pairs[-1][2]) > _AT_BALL_RAD:
            return False
        self._instant = self._measure.push(*pairs[-1])
        self._detector.push(self._instant)
        return True

    def hush(self, arrival_ns: int) -> list[Output]:
        """Stop the cue if it sounds: the swing is about to be replaced."""
        edge = self._monitor.stop(self._instant.t_s)
        return [_cue(arrival_ns, edge)] if edge is not None else []

    def readout(self, arrival_ns: int) -> Readout:
        """The newest instant; angles are left out when in doubt."""
        instant, doubt = self._instant, self.doubt
        angles = instant.angles if doubt is Doubt.NONE else Angles()
        pitch_doubt = doubt
        if doubt is Doubt.NONE and angles.shaft_pitch_rad is None:
            pitch_doubt = Doubt.FORESHORTENED
        return Readout(
            arrival_ns=arrival_ns,
            t_s=instant.t_s,
            phase=self.phase,
            angles=angles,
            doubt=doubt,
            pitch_doubt=pitch_doubt,
            since_rest_s=instant.t_s - self._address.t_s,
            error_rad=self._monitor.error_rad,
        )

    def _step(self, arrival_ns: int, step: Step) -> list[Output]:
        out: list[Output] = [PhaseChange(arrival_ns=arrival_ns, t_s=step.t_s, phase=step.phase)]
        if step.phase is Phase.TAKEAWAY:
            self._monitor = DrillMonitor(self._drill)
        self._rep.note(step)
        if step.phase in _REP_ENDS:
            edge = self._monitor.stop(step.t_s)
            if edge is not None:
                out.append(_cue(arrival_ns, edge))
            rep = self._finished(arrival_ns)
            if rep is not None:
                out.append(rep)
        return out

    def _finished(self, arrival_ns: int) -> Rep | None:
        backswing_s, takeaway_s = self._rep.backswing_s(), self._rep.takeaway_s
        if backswing_s is None or takeaway_s is None:
            return None
        verdict, worst_rad = self._monitor.verdict()
        self.n_reps += 1
        rep = Rep(
            arrival_ns=arrival_ns,
            index=self.n_reps,
            address_s=self._rep.address_s,
            takeaway_s=takeaway_s,
            checkpoints=dict(self._rep.checkpoints),
            backswing_s=backswing_s,
            downswing_s=self._rep.downswing_s(),
            verdict=verdict,
            worst_rad=worst_rad,
            out_s=self._monitor.out_s,
            doubt=self.doubt,
        )
        self._rep = RepBuilder(self._address.t_s)  # one rep a swing
        return rep


def _cue(arrival_ns: int, edge: Edge) -> CueChange:
    return CueChange(arrival_ns=arrival_ns, t_s=edge.t_s, sounding=edge.sounding, error_rad=edge.error_rad)
