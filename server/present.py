"""The present state of a practice as clients see it, so that a late joiner lacks nothing."""

from __future__ import annotations

from collections import deque
from typing import Final

from sensors.record.writer import program_version
from server.wire import (
    PROTOCOL_VERSION,
    ChoosingMessage,
    ChoosingView,
    CourseView,
    DrillMessage,
    DrillView,
    EndMessage,
    FitMessage,
    FitView,
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
from server.wire_drills import DrillChoice, DrillsMessage

KEPT_REPS: Final = 12
KEPT_PROBLEMS: Final = 8


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
        self._reps: deque[RepMessage] = deque(maxlen=KEPT_REPS)
        self._problems: dict[str, ProblemMessage] = {}

    def note(self, message: ServerMessage) -> None:  # noqa: C901  # a table: one case a message
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
            case EndMessage():
                self.ended = not message.again
                if message.again:
                    self._frame = None
                    self.fit = FitView(complete=False, taken=[])
                    self._reps.clear()
            case _:
                pass

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
        )
        end = (EndMessage(again=False),) if self.ended else ()
        return (hello, *self._problems.values(), *end)
