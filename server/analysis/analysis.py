"""One pass over a recording with the live pipeline: the same code, the same numbers, memory that does not grow."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from typing import Protocol

from fusion.outputs.fit import FitProgress, SensorTurned
from fusion.outputs.instant import Moment, Series
from fusion.outputs.output import Output
from fusion.outputs.rep import Rep, RepRefined
from fusion.pipeline import Pipeline
from sensors.events import MessageSaid, NoteWritten, PlayerSet, RepMarked, SourceEvent
from sensors.record.reader import ReadReport, read_events, read_head
from sensors.record.summary import Remark
from server.analysis.host_clock import HostClock
from server.analysis.moves_log import MovesLog
from server.drills import default_drill


class TakesEvents(Protocol):
    """What is asked of a pipeline."""

    def push(self, event: SourceEvent) -> tuple[Output, ...]:
        """Take in one event, give what it leads to."""

    def close(self) -> tuple[Output, ...]:
        """No more come: give what was held back."""


class TakesMoments(Protocol):
    """What is asked of whoever wants every instant."""

    def add(self, moments: tuple[Moment, ...]) -> None:
        """Take in the instants that a packet completed."""


def _nobody(_: Rep) -> None:
    """Nobody asked to be told."""


class Analysis:
    """Reads one recording. `run` is a generator that pauses after every event, so that the caller can show progress.

    `on_refined` is told of each rep in its last form, once the instants of its swing have been given out.
    """

    def __init__(
        self, path: Path, *, pipeline: TakesEvents | None = None, on_refined: Callable[[Rep], None] = _nobody
    ) -> None:
        """Make sure that this is a recording. Raises `RecordingError`."""
        self.path = path
        self.notes: Mapping[str, str] = read_head(path).notes
        self.clock = HostClock(self.notes)
        self.report = ReadReport()
        self.moves = MovesLog()
        self.turned: list[SensorTurned] = []
        self.remarks: list[Remark] = []
        """What was marked, noted and said."""
        self.player: PlayerSet | None = None
        """The last one told of."""
        self._on_refined = on_refined
        self._reps: dict[int, Rep] = {}
        self._pipeline = pipeline if pipeline is not None else Pipeline(default_drill(), series=True)

    @property
    def reps(self) -> list[Rep]:
        """Every rep in its last form: as refined once its swing was over, where that came."""
        return [self._reps[index] for index in sorted(self._reps)]

    def run(self, series: TakesMoments | None) -> Iterator[None]:
        """Read it all; instants go to `series` if there is one. Raises `UnknownProfile`; OSError when the disk fails."""
        for event in read_events(self.path, report=self.report):
            self.clock.see(event.arrival_ns)
            match event:
                case PlayerSet():
                    self.player = event
                case RepMarked() | NoteWritten() | MessageSaid():
                    self.remarks.append(Remark(at_s=self.clock.length_s, event=event))
                case _:
                    pass
            refined = [rep for output in self._pipeline.push(event) if (rep := self._note(output, series)) is not None]
            for rep in refined:  # the packet's own instants come after its reps
                self._on_refined(rep)
            yield
        for output in self._pipeline.close():
            self._note(output, series)

    def _note(self, output: Output, series: TakesMoments | None) -> Rep | None:
        """Keep what an event led to; gives a rep that has come to its last form."""
        match output:
            case Series():
                if series is not None:
                    series.add(output.moments)
            case Rep():
                self._reps[output.index] = output
            case RepRefined():
                self._reps[output.rep.index] = output.rep
                return output.rep
            case FitProgress():
                self.moves.push(output)
            case SensorTurned():
                self.turned.append(output)
            case _:
                pass
        return None
