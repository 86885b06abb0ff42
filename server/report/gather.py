"""What a report shows of a practice, gathered in one pass over its recording."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import Final

import numpy as np
from numpy.typing import NDArray

from fusion.drills.drill import Drill
from fusion.outputs.instant import Phase
from fusion.outputs.rep import Rep
from fusion.pipeline import Pipeline
from sensors.ids import Side
from sensors.record.reader import RecordingHead, read_head
from server.analysis.analysis import Analysis
from server.analysis.recent import RecentMoments
from server.answer.form import Answer
from server.answer.read import read_answer
from server.drills import default_drill
from server.export.motion import MARKS as NAMES
from server.export.motion import SwingMotion, swing_motion
from server.units import Units

Array = NDArray[np.float64]
MARKS: Final = {phase: NAMES[phase] for phase in (Phase.SHAFT_LEVEL, Phase.ARM_LEVEL, Phase.TOP)}


@dataclass(frozen=True, slots=True, kw_only=True)
class Trace:
    """A rep's way back, from takeaway to top; shape (n,) each, NaN where a value is absent."""

    rep: Rep
    t_s: Array
    """Seconds after takeaway."""
    bend_change_deg: Array
    shaft_pitch_deg: Array

    @property
    def bend_at_top_deg(self) -> float:
        """Bend since address at the top; NaN when it is not known."""
        top = self.rep.checkpoints.get(Phase.TOP)
        value = None if top is None else top.angles.bend_change_rad
        return math.nan if value is None else math.degrees(value)


@dataclass(frozen=True, slots=True, kw_only=True)
class Lesson:
    """All of it."""

    day: str
    """Where it was swung, as far as the recording says where that is; else in UTC. ISO 8601."""
    units: Units
    player: str
    club: str
    lead_side: Side
    drill: Drill
    """In force at the end."""
    traces: Sequence[Trace]
    middle: SwingMotion | None
    """The swing whose bend at the top is the middle one; None when no swing is known well enough to draw."""
    answer: Answer | None

    @property
    def reps(self) -> list[Rep]:
        """In order."""
        return [trace.rep for trace in self.traces]


class Gathering:
    """`run` pauses after every event; then `lesson` has what was found."""

    def __init__(self, path: Path) -> None:
        """Make sure that it is a recording. Raises `RecordingError`, and `AnswerInvalid` for an answer in it."""
        self._head = read_head(path)
        self._answer = read_answer(path)
        self._pipeline = Pipeline(default_drill(), series=True)
        self.analysis = Analysis(path, pipeline=self._pipeline, on_refined=self._swing)
        self._recent = RecentMoments()
        self._traces: dict[int, Trace] = {}
        self._drawn: dict[int, SwingMotion] = {}

    def run(self) -> Iterator[None]:
        """Read it all."""
        yield from self.analysis.run(self._recent)
        for rep in self.analysis.reps:  # one whose swing was cut off by the end of the data
            self._swing(rep)

    def lesson(self, units: Units) -> Lesson:
        """Give what was found, lengths to be told in these units."""
        player = self.analysis.player
        traces = [self._traces[index] for index in sorted(self._traces)]
        return Lesson(
            day=_day(self._head),
            units=units,
            player="" if player is None else player.name,
            club="" if player is None else player.club,
            lead_side=Side.LEFT if player is None else player.lead_side,
            drill=self._pipeline.drill,
            traces=traces,
            middle=self._middle(traces),
            answer=self._answer,
        )

    def _swing(self, rep: Rep) -> None:
        if rep.index in self._traces:
            return
        top_s = rep.checkpoints[Phase.TOP].t_s if Phase.TOP in rep.checkpoints else rep.takeaway_s + rep.backswing_s
        seen = self._recent.between(rep.takeaway_s, top_s)
        self._traces[rep.index] = Trace(
            rep=rep,
            t_s=np.array([moment.t_s - rep.takeaway_s for moment in seen]),
            bend_change_deg=_degrees([moment.angles.bend_change_rad for moment in seen]),
            shaft_pitch_deg=_degrees([moment.angles.shaft_pitch_rad for moment in seen]),
        )
        motion = swing_motion(rep, self._recent)
        if motion is not None:
            self._drawn[rep.index] = motion

    def _middle(self, traces: Sequence[Trace]) -> SwingMotion | None:
        known = [trace for trace in traces if trace.rep.index in self._drawn and not math.isnan(trace.bend_at_top_deg)]
        known.sort(key=lambda trace: trace.bend_at_top_deg)
        return self._drawn[known[(len(known) - 1) // 2].rep.index] if known else None


def _day(head: RecordingHead) -> str:
    try:
        begun = datetime.fromisoformat(head.created)
    except ValueError:
        return head.created[:10]
    return (begun + timedelta(seconds=head.utc_offset_s or 0)).date().isoformat()


def _degrees(values: Sequence[float | None]) -> Array:
    return np.array([math.nan if value is None else math.degrees(value) for value in values])
