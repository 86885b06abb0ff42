"""From instants to what is said of a swing: changes of phase, cues, and the rep. No measuring here: `follower.py` does that.

A rep is given out twice: `Rep` when the ball is past (within 0.1 s of impact as a rule), and `RepRefined` when the swing is
over, with the same index, every mark dated again and `finish_s` known.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from fusion.drills.desk import Desk
from fusion.drills.monitor import Edge
from fusion.measure import Instant
from fusion.outputs import CueChange, Doubt, Output, Phase, PhaseChange, Rep, RepRefined
from fusion.swing.detector import Step, SwingDetector
from fusion.swing.phases import BACKSWING
from fusion.swing.reps import RepBuilder
from fusion.swing.strike import StrikeMemory, blow


class SwingStory:
    """One swing, from its address until it is over."""

    def __init__(self, first: Instant, desk: Desk, n_reps: int, strikes: StrikeMemory) -> None:
        self.n_reps = n_reps
        """Reps of the practice so far, this swing's included once it is one."""
        self.doubt = Doubt.NONE
        self.error_rad = self.cue_error_rad = 0.0
        self._desk = desk
        self._strikes = strikes
        self._address_s = first.t_s
        self._last = first
        self._detector = SwingDetector(first)
        self._monitor = desk.monitor()
        self._builder = RepBuilder(first.t_s)
        self._counted_it = False
        self._rep: Rep | None = None

    @property
    def phase(self) -> Phase:
        """Where the swing is."""
        return self._detector.phase

    @property
    def instants(self) -> Sequence[Instant]:
        """The newest instants, in order."""
        return self._detector.instants

    def stand(self, instant: Instant) -> None:
        """Advance while nothing moves."""
        self._last = instant
        self._detector.push(instant)

    def push(self, arrival_ns: int, instant: Instant) -> list[Output]:
        """Advance by one instant."""
        self._last = instant
        if not instant.wrist_possible and self.doubt is Doubt.NONE and self.phase in BACKSWING:
            self.doubt = Doubt.OUT_OF_RANGE
        out: list[Output] = []
        for step in self._detector.push(instant):
            out.extend(self._step(arrival_ns, step))
        edge = self._monitor.push(instant.t_s, self.phase, instant.angles, self.doubt)
        self.error_rad, self.cue_error_rad = self._monitor.error_rad, self._monitor.cue_error_rad
        if edge is not None:
            out.append(_cue(arrival_ns, edge))
        return out

    def close(self, arrival_ns: int) -> list[Output]:
        """Nothing more will come of it, wherever it is: stop the cue, give what is due."""
        out = self._hushed(arrival_ns, self._last.t_s)
        return [*out, *self._refined(arrival_ns)]

    def _step(self, arrival_ns: int, step: Step) -> list[Output]:
        out: list[Output] = [PhaseChange(arrival_ns=arrival_ns, t_s=step.t_s, phase=step.phase)]
        if step.phase is Phase.TAKEAWAY:
            self._monitor = self._desk.monitor()
        self._builder.note(step, self._detector.instants)
        if step.phase in (Phase.IMPACT, Phase.IDLE):
            out.extend(self._hushed(arrival_ns, step.t_s))
        if step.phase is Phase.FINISH or (step.phase is Phase.IDLE and Phase.IMPACT in self._builder.checkpoints):
            out.extend(self._counted(arrival_ns))
        if step.phase is Phase.IDLE:
            self._builder.finish_s = step.t_s
            out.extend(self._refined(arrival_ns))
        return out

    def _counted(self, arrival_ns: int) -> list[Output]:
        """Make the rep of a swing that the table has let through, once; by now it is known whether a blow was felt."""
        builder = self._builder
        backswing_s, downswing_s = builder.backswing_s, builder.downswing_s
        if self._counted_it or backswing_s is None or builder.takeaway_s is None:
            return []
        self._counted_it = True
        struck = None
        if downswing_s is not None:
            felt_before = self._strikes.feels
            size = blow(self._detector.instants, builder.checkpoints[Phase.IMPACT].t_s)
            felt = self._strikes.felt(size, downswing_s)
            struck = felt if felt or (felt_before and size is not None) else None
            if struck is False and self._strikes.too_slow(downswing_s):
                return []
        verdict, worst_rad = self._monitor.verdict()
        self._desk.count(self._monitor, verdict)
        self.n_reps += 1
        self._rep = Rep(
            arrival_ns=arrival_ns,
            index=self.n_reps,
            address_s=self._address_s,
            takeaway_s=builder.takeaway_s,
            checkpoints=dict(builder.checkpoints),
            backswing_s=backswing_s,
            downswing_s=downswing_s,
            verdict=verdict,
            worst_rad=worst_rad,
            out_s=self._monitor.out_s,
            doubt=self.doubt,
            arm_length_rad=builder.arm_length_rad,
            shaft_length_rad=builder.shaft_length_rad,
            flags=builder.flags(struck=struck),
            cued=self._monitor.cued,
            testing=self._monitor.testing,
            paused=self._monitor.paused,
            drill=self._monitor.drill.name,
        )
        return [self._rep]

    def _refined(self, arrival_ns: int) -> list[Output]:
        """Give the rep as the record keeps it, once."""
        rep, builder = self._rep, self._builder
        if rep is None:
            return []
        self._rep = None
        builder.refine(self._detector.instants)
        refined = replace(
            rep,
            arrival_ns=arrival_ns,
            takeaway_s=builder.takeaway_s or rep.takeaway_s,
            checkpoints=dict(builder.checkpoints),
            backswing_s=builder.backswing_s or rep.backswing_s,
            downswing_s=builder.downswing_s,
            finish_s=builder.finish_s,
        )
        return [RepRefined(arrival_ns=arrival_ns, rep=refined)]

    def _hushed(self, arrival_ns: int, t_s: float) -> list[Output]:
        edge = self._monitor.stop(t_s)
        return [_cue(arrival_ns, edge)] if edge is not None else []


def _cue(arrival_ns: int, edge: Edge) -> CueChange:
    return CueChange(arrival_ns=arrival_ns, t_s=edge.t_s, sounding=edge.sounding, error_rad=edge.error_rad)
