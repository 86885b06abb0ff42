"""Everything that the pipeline says: one readout per packet, and the events of a practice."""

from __future__ import annotations

from fusion.outputs.cue import CueChange, DrillNews, Signal
from fusion.outputs.fit import FitProgress, HabitFound, SensorTurned, TrimFound
from fusion.outputs.instant import Readout, Series
from fusion.outputs.rep import PhaseChange, Rep, RepRefined

Output = (
    Readout
    | Series
    | PhaseChange
    | Rep
    | RepRefined
    | CueChange
    | Signal
    | FitProgress
    | SensorTurned
    | TrimFound
    | HabitFound
    | DrillNews
)
