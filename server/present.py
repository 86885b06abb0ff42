"""The present state of a practice as clients see it, so that a late joiner lacks nothing."""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass
from typing import Any, Final

from fusion.outputs.rep import Verdict
from sensors.events import RepMark
from sensors.record.writer import program_version
from server.wire import (
    PROTOCOL_VERSION,
    CourseView,
    DrillMessage,
    DrillView,
    EndMessage,
    FrameMessage,
    HelloMessage,
    PlayerView,
    ProblemMessage,
    RepMessage,
    SensorsMessage,
    SensorView,
    ServerMessage,
    SourceView,
)
from server.wire_choosing import ChoosingMessage, ChoosingView
from server.wire_drills import DrillChoice, DrillsMessage
from server.wire_fit import FitMessage, FitView
from server.wire_lesson import BayRef, ControlMessage, Holder, NoteMessage, RepMarkMessage, SaidMessage
from server.wire_replay import ReplayMessage, ReplayTimelineMessage, ReplayView

KEPT_REPS: Final = 12
KEPT_PROBLEMS: Final = 8
KEPT_MARKS: Final = 100
KEPT_NOTES: Final = 50
KEPT_SAID: Final = 8

_TOLD: Final = (
    "drill", "_course", "_second", "_look_ahead_ms", "_paused", "player", "fit", "sensors",
    "_frame", "_marks", "_notes", "_said", "_reps", "_problems", "tally",
)  # fmt: skip
"""What follows from the events so far, and nothing else."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RepTally:
    """How many reps there were."""

    n_reps: int = 0
    n_judged: int = 0
    n_in_band: int = 0

    def with_rep(self, verdict: Verdict) -> RepTally:
        """Count one in."""
        return RepTally(
            n_reps=self.n_reps + 1,
            n_judged=self.n_judged + (verdict is not Verdict.UNKNOWN),
            n_in_band=self.n_in_band + (verdict is Verdict.IN_BAND),
        )


class Present:
    """Follows what is published.

    `player`, `recording` and a `fit` that has become void have no message of their own: set them, then renew the hello.
    """

    def __init__(
        self,
        *,
        source: SourceView,
        drill: DrillView,
        player: PlayerView | None,
        recording: str | None,
        course: CourseView | None = None,
        drills: tuple[DrillChoice, ...] = (),
    ) -> None:
        self.source = source
        self.drill = drill
        self._course = course
        self._drills = drills
        self._second: DrillView | None = None
        self._look_ahead_ms = 0
        self._paused = False
        self.player = player
        self.recording = recording
        self.ended = False
        """The source has nothing more to give."""
        self.fit = FitView(complete=False, taken=[])
        self.sensors: list[SensorView] = []
        self.choosing: ChoosingView | None = None
        self._frame: FrameMessage | None = None
        self.bay: BayRef | None = None
        self._control: Holder = "student"
        self._marks: dict[int, RepMarkMessage] = {}
        self._notes: deque[NoteMessage] = deque(maxlen=KEPT_NOTES)
        self._said: deque[SaidMessage] = deque(maxlen=KEPT_SAID)
        self._reps: deque[RepMessage] = deque(maxlen=KEPT_REPS)
        self._problems: dict[str, ProblemMessage] = {}
        self.tally = RepTally()
        """Of all reps, also those no longer kept."""
        self.replay: ReplayView | None = None
        self._timeline: ReplayTimelineMessage | None = None

    @property
    def told(self) -> dict[str, Any]:
        """What the pages know by the events so far, to be put back with `restore`."""
        return {name: getattr(self, name) for name in _TOLD}

    def restore(self, told: dict[str, Any]) -> None:
        """Be as it was; tell the pages by a new hello."""
        for name in _TOLD:
            setattr(self, name, told[name])
        self.ended = False

    @property
    def frame(self) -> FrameMessage | None:
        """The newest."""
        return self._frame

    @property
    def newest_rep(self) -> int:
        """Number of the newest rep; 0 before the first."""
        return self._reps[-1].index if self._reps else 0

    def note(self, message: ServerMessage) -> None:  # noqa: C901, PLR0912  # a table: one case a message
        """Take in what all clients are being told."""
        match message:
            case FrameMessage():
                self._frame = message
            case SensorsMessage():
                self.sensors = message.sensors
            case ChoosingMessage():
                self.choosing = message.choosing
            case RepMessage():
                self._reps.append(message)
                self.tally = self.tally.with_rep(message.verdict)
            case DrillMessage():
                self.drill, self._course, self._second = message.drill, message.course, message.second
                self._look_ahead_ms, self._paused = message.look_ahead_ms, message.paused
            case DrillsMessage():
                self._drills = tuple(message.drills)
            case FitMessage():
                self.fit = message.fit
            case ProblemMessage():
                self._problems.pop(message.code, None)
                self._problems[message.code] = message
                if len(self._problems) > KEPT_PROBLEMS:
                    del self._problems[next(iter(self._problems))]
            case ControlMessage():
                self._control = message.holder
            case RepMarkMessage():
                self._mark(message)
            case NoteMessage():
                self._notes.append(message)
            case SaidMessage():
                self._said.append(message)
            case ReplayMessage():
                self.replay = message.replay
            case ReplayTimelineMessage():
                self._timeline = message
            case EndMessage():
                self.ended = not message.again
                if message.again:
                    self._begin_again()
            case _:
                pass

    def _mark(self, message: RepMarkMessage) -> None:
        self._marks.pop(message.rep, None)
        if message.mark is not RepMark.NONE:
            self._marks[message.rep] = message
            if len(self._marks) > KEPT_MARKS:
                del self._marks[next(iter(self._marks))]

    def _begin_again(self) -> None:
        self._frame = None
        self.tally = RepTally()
        self.fit = FitView(complete=False, taken=[])
        for kept in (self._reps, self._marks, self._notes, self._said):
            kept.clear()

    def take_over(self, hello: HelloMessage) -> None:
        """Be as a greeting says, in what is not given when this is made."""
        self._second, self._look_ahead_ms, self._paused = hello.second, hello.look_ahead_ms, hello.paused
        self.fit, self.sensors, self.choosing = hello.fit, hello.sensors, hello.choosing
        self._frame, self.bay, self._control, self.replay = hello.frame, hello.bay, hello.control, hello.replay
        self._reps.extend(hello.reps)
        self._marks = {mark.rep: mark for mark in hello.marks}
        self._notes.extend(hello.notes)
        self._said.extend(hello.said)

    def refine(self, rep: RepMessage) -> None:
        """Put a rep in the place of the one of the same index, for those who join from now on; nobody is told."""
        self._reps = deque((rep if one.index == rep.index else one for one in self._reps), maxlen=KEPT_REPS)

    def solved(self, code: str) -> bool:
        """A problem is over; True if it stood."""
        return self._problems.pop(code, None) is not None

    def opening(self) -> tuple[ServerMessage, ...]:
        """Give the first messages to a client: hello, the problems that stand, and the end if it is over."""
        hello = HelloMessage(
            protocol=PROTOCOL_VERSION,
            version=program_version(),
            source=self.source,
            player=self.player,
            drill=self.drill,
            course=self._course,
            second=self._second,
            drills=list(self._drills),
            look_ahead_ms=self._look_ahead_ms,
            paused=self._paused,
            fit=self.fit,
            sensors=self.sensors,
            frame=self._frame,
            reps=list(self._reps),
            recording=self.recording,
            choosing=self.choosing,
            bay=self.bay,
            control=self._control,
            marks=list(self._marks.values()),
            notes=list(self._notes),
            said=list(self._said),
            replay=self.replay,
        )
        end = (EndMessage(again=False),) if self.ended else ()
        return (hello, *self._problems.values(), *end)

    def at_joining(self) -> tuple[ServerMessage, ...]:
        """What follows the first messages to a new client alone: it is long, and the others have it."""
        return () if self._timeline is None else (self._timeline,)


def present_of(hello: HelloMessage, before: Present | None = None) -> Present:
    """Read the state of a practice elsewhere from its greeting, and what is told only once from the state before.

    The problems that stand there follow it.
    """
    present = Present(
        source=hello.source,
        drill=hello.drill,
        player=hello.player,
        recording=hello.recording,
        course=hello.course,
        drills=tuple(hello.drills),
    )
    present.take_over(hello)
    for message in before.at_joining() if before is not None else ():
        present.note(message)
    return present
