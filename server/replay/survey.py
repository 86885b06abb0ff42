"""The first reading of a recording: where its reps and remarks are, and states to jump to, with the live pipeline.

Runs in a process of its own (`survey_process`), so that what is being watched is not held up.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import IO, Final

from fusion.outputs.rep import Rep, RepRefined
from fusion.pipeline import Pipeline
from sensors.errors import SensorsError
from sensors.events import SourceEvent
from server.chosen import Chosen
from server.drill_views import drill_view
from server.drills import default_drill
from server.hub import Hub
from server.notices import Notices
from server.present import Present
from server.replay.keyframe import Spilled, spill
from server.replay.stream import Stream
from server.replay.timeline import remark_on_timeline, rep_on_timeline
from server.telling import Telling
from server.views import player_view
from server.wire import SourceView
from server.wire_replay import TimelineRemark, TimelineRep

KEYFRAME_EVERY_NS: Final = 5_000_000_000
_EVENTS_PER_LOOK: Final = 200


@dataclass(frozen=True, slots=True, kw_only=True)
class Far:
    """How far it has come; `over`: this is all there is."""

    last_ns: int
    progress: float
    over: bool = False
    trouble: str = ""


News = Spilled | TimelineRep | TimelineRemark | Far


def silent_telling(view: SourceView, chosen: Chosen) -> Telling:
    """Tell a practice to nobody: only what is to be saved comes of it."""
    pipeline = Pipeline(default_drill())
    hub = Hub(Present(source=view, drill=drill_view(pipeline.drill), player=player_view(chosen.player), recording=None))
    notices = Notices(hub, live=False, tell=lambda _: None, trims=None)
    return Telling(hub, notices, pipeline, live=False, sensors_changed=lambda: None)


def survey(path: Path, view: SourceView, chosen: Chosen, file: IO[bytes]) -> Iterator[News]:
    """Read it through; states go into the file. Raises `RecordingError` at once for what is no recording."""
    stream = Stream(path)
    try:
        yield from _through(stream, silent_telling(view, chosen), chosen, file)
    finally:
        stream.close()


def _through(stream: Stream, telling: Telling, chosen: Chosen, file: IO[bytes]) -> Iterator[News]:
    first = stream.peek()
    first_ns = 0 if first is None else first.arrival_ns
    for chose in chosen.opening(first_ns) if first is not None else ():
        telling.push(chose)
    saved_ns = first_ns
    while (event := stream.peek()) is not None:
        if event.arrival_ns - saved_ns >= KEYFRAME_EVERY_NS:
            saved_ns = event.arrival_ns
            yield spill(file, stream.mark, telling.save())
        try:
            yield from _pushed(telling, event, (event.arrival_ns - first_ns) * 1e-9)
        except SensorsError as error:  # playing comes no further than this either
            yield Far(last_ns=stream.last_ns or first_ns, progress=1.0, over=True, trouble=str(error))
            return
        stream.take()
        if stream.n_events % _EVENTS_PER_LOOK == 0:
            yield Far(last_ns=event.arrival_ns, progress=stream.progress)
    yield Far(last_ns=stream.last_ns or first_ns, progress=1.0, over=True)


def _pushed(telling: Telling, event: SourceEvent, t_s: float) -> Iterator[News]:
    for output in telling.push(event):
        if isinstance(output, Rep):
            yield rep_on_timeline(output, t_s)
        elif isinstance(output, RepRefined):
            yield rep_on_timeline(output.rep, t_s)
    remark = remark_on_timeline(event, t_s)
    if remark is not None:
        yield remark
