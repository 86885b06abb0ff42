"""From instants to what is said of a swing: changes of phase, cues, and the rep. No measuring here: `follower.py` does that.

A rep is given out twice: `Rep` when the ball is past (within 0.1 s of impact as a rule), and `RepRefined` when the swing is
over, with the same index, every mark dated again and `finish_s` known.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from fusion.drills.desk import Desk
from fusion.drills.monitor import Edge, Sound
from fusion.drills.quantity import SwingFigures
from fusion.drills.swing_log import SwingLog
from fusion.measure import Instant
from fusion.outputs.cue import CueChange, Signal
from fusion.outputs.instant import Doubt, Phase
from fusion.outputs.output import Output
from fusion.outputs.rep import Judged, PhaseChange, Rep, RepRefined
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
        self._watch()
        self._top_doubt = Doubt.NONE
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
        told = (instant.t_s, self.phase, instant.angles, self.doubt)
        if self._rep is None:
            self._log.push(*told)
        sounds = self._monitor.push(*told)
        self.error_rad, self.cue_error_rad = self._monitor.error_rad, self._monitor.cue_error_rad
        if self._second is not None:
            self._second.push(*told)
        if sounds:
            out.extend(_heard(arrival_ns, sounds))
        return out

    def close(self, arrival_ns: int) -> list[Output]:
        """Nothing more will come of it, wherever it is: stop the cue, give what is due."""
        out = self._hushed(arrival_ns, self._last.t_s)
        return [*out, *self._refined(arrival_ns)]

    def _step(self, arrival_ns: int, step: Step) -> list[Output]:
        out: list[Output] = [PhaseChange(arrival_ns=arrival_ns, t_s=step.t_s, phase=step.phase)]
        if step.phase is Phase.TAKEAWAY:
            self._watch()
        self._builder.note(step, self._detector.instants)
        if step.phase is Phase.TOP:
            self._top_doubt = self.doubt
            out.extend(self._figured(arrival_ns))
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
        sounds = self._figured(arrival_ns)
        verdict, worst = self._monitor.verdict()
        self._desk.count(self._monitor, verdict, self._log)
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
            worst=worst,
            out_s=self._monitor.out_s,
            doubt=self.doubt,
            arm_length_rad=builder.arm_length_rad,
            shaft_length_rad=builder.shaft_length_rad,
            flags=builder.flags(struck=struck),
            cued=self._monitor.cued,
            testing=self._monitor.testing,
            paused=self._monitor.paused,
            drill=self._monitor.drill.name,
            quantity=self._monitor.drill.quantity,
            second=self._judged(),
        )
        return [*sounds, self._rep]

    def _judged(self) -> Judged | None:
        second = self._second
        if second is None:
            return None
        verdict, worst = second.verdict()
        return Judged(drill=second.drill.name, quantity=second.drill.quantity, verdict=verdict, worst=worst)

    def _watch(self) -> None:
        """Begin to judge: from the takeaway, whatever came before it."""
        self._monitor, self._second, self._log = self._desk.monitor(), self._desk.second_monitor(), SwingLog()

    def _figured(self, arrival_ns: int) -> list[Output]:
        """Tell those who judge what is known of the whole swing; what was read at the top is not spoilt by what came after."""
        builder, top = self._builder, self._top_doubt is Doubt.NONE
        backswing_s, downswing_s = builder.backswing_s, builder.downswing_s
        figures = SwingFigures(
            arm_length_rad=builder.arm_length_rad if top else None,
            shaft_length_rad=builder.shaft_length_rad if top else None,
            backswing_s=backswing_s if top else None,
            tempo=backswing_s / downswing_s if self.doubt is Doubt.NONE and backswing_s and downswing_s else None,
        )
        t_s = self._last.t_s
        self._log.figures(t_s, figures)
        if self._second is not None:
            self._second.figures(t_s, figures)
        return _heard(arrival_ns, self._monitor.figures(t_s, figures))

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
        return _heard(arrival_ns, self._monitor.stop(t_s))


def _heard(arrival_ns: int, sounds: tuple[Sound, ...]) -> list[Output]:
    return [
        CueChange(arrival_ns=arrival_ns, t_s=sound.t_s, sounding=sound.sounding, error_rad=sound.error_rad)
        if isinstance(sound, Edge)
        else Signal(arrival_ns=arrival_ns, t_s=sound.t_s, kind=sound.kind)
        for sound in sounds
    ]
