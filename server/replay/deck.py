"""Plays a recording as it is asked to: on, slower, stopped, a step, from anywhere, one rep over and over.

Rule 1: wherever it is, every number is what playing through from the beginning gives, to the last bit.
Rule 2: the newest wish counts; one that comes during a jump takes its place.
"""

from __future__ import annotations

import asyncio
import tempfile
import time
from collections.abc import AsyncGenerator, Callable
from contextlib import aclosing
from pathlib import Path
from typing import Final

from sensors.errors import SensorsError
from sensors.events import RawPacket, SensorInfo, SourceEvent
from sensors.ids import SensorId
from sensors.sources.pace import Pace
from sensors.sources.replay import last_move_ns, links_stopped
from server.chosen import Chosen
from server.replay import advice
from server.replay.jump import Head, Target
from server.replay.keyframe import Keyframes, Spilled
from server.replay.stage import Stage
from server.replay.survey import Far, News
from server.replay.survey_process import SurveyFailed, surveyed_elsewhere
from server.replay.timeline import Timeline, remark_on_timeline
from server.wire import ProblemMessage, SourceView
from server.wire_replay import (
    SLOWEST,
    ReplayAsk,
    ReplayLoopMessage,
    ReplayPlayMessage,
    ReplayRepMessage,
    ReplaySeekMessage,
    ReplaySkipMessage,
    ReplaySpeedMessage,
    ReplayStepMessage,
    ReplayView,
    TimelineRep,
)

Survey = Callable[[Path, SourceView, Chosen, Path], AsyncGenerator[list[News]]]
_NS: Final = 1e-9


class Deck:
    """`await run(stage)` plays until cancelled, at its end waits for what is wanted; `ask` says what somebody wants.

    `speed` 0 is as fast as can be. `hurry_fit` takes everything before the last fit move at once; with `repeat` each end is a
    new beginning. Without `playing` it waits at its beginning. `survey` and `clock_s` are for tests.
    """

    def __init__(
        self, path: Path, *, speed: float = 1.0, hurry_fit: bool = False, repeat: bool = False, playing: bool = True,
        survey: Survey = surveyed_elsewhere, clock_s: Callable[[], float] = time.monotonic,
    ) -> None:  # fmt: skip
        self.path = path
        self.speed = speed
        self.timeline = Timeline()
        self._hurry_fit = hurry_fit
        self._last_move_ns = 0
        """What is hurried through from the beginning; 0: nothing."""
        self._hurry_ns = 0
        """The same now."""
        self._repeat = repeat
        self._survey = survey
        self._pace = Pace(clock_s)
        self._clock_s = clock_s
        self._head: Head | None = None
        self._stage: Stage | None = None
        self._first_ns = 0
        self._playing = playing
        self._seeking = False
        self._ended = False
        self._loop: TimelineRep | None = None
        self._target: Target | None = None
        self._steps = 0
        self._wished = asyncio.Event()
        self._sensors: dict[SensorId, None] = {}

    @property
    def now_ns(self) -> int:
        """Recorded time now, which runs on between two events while it plays."""
        if self._head is None:
            return 0
        event = self._head.stream.peek()
        if not self._playing or self._seeking or event is None:
            return self._head.at_ns
        return self._pace.at_ns(self._head.at_ns, event.arrival_ns)

    @property
    def view(self) -> ReplayView:
        """How it stands."""
        head = self._head
        at_ns = self._target.at_ns if self._target is not None else self._first_ns if head is None else self.now_ns
        return ReplayView(
            playing=self._playing,
            speed=self.speed,
            at_s=max(0.0, (at_ns - self._first_ns) * _NS),
            seeking=self._seeking,
            loop=None if self._loop is None else self._loop.index,
        )

    def look(self) -> None:
        """Now and then: tell how far it is."""
        if self._playing and not self._ended:
            self._tell()

    def forget(self) -> None:
        """Something was chosen on the page: states that were kept in memory hold what was before."""
        if self._head is not None:
            self._head.keyframes.forget()

    def add(self, event: SourceEvent) -> None:
        """Somebody marks, notes or says something here: it comes again whenever this place is passed."""
        head, stage = self._head, self._stage
        if head is None or stage is None:
            return
        stage.push(event)
        head.add(event)
        remark = remark_on_timeline(event, (event.arrival_ns - self._first_ns) * _NS)
        if remark is not None:
            self.timeline.add(remark)
            stage.show_timeline(self.timeline.message())

    def ask(self, message: ReplayAsk) -> ProblemMessage | None:
        """Do what somebody wants; gives the reason when that cannot be."""
        if self._head is None:
            return advice.not_begun()
        problem = self._obey(message, self._head)
        if problem is None:
            self._pace.start(self._head.at_ns, self.speed)
            self._wished.set()
            self._tell()
        return problem

    async def run(self, stage: Stage) -> None:
        """Play. Raises `SensorsError` for what cannot be read or decoded."""
        self._stage = stage
        with tempfile.TemporaryDirectory(prefix="pitchbend-", ignore_cleanup_errors=True) as folder:
            states = Path(folder) / "states"
            self._head = Head(self.path, stage, Keyframes(states), clock_s=self._clock_s)
            try:
                first = self._head.stream.peek()
                if first is None:
                    return
                self._first_ns = self._head.at_ns = first.arrival_ns
                self._hurry_ns = self._last_move_ns = last_move_ns(self.path) if self._hurry_fit else 0
                failure: SensorsError | None = None
                async with asyncio.TaskGroup() as tasks:  # whose groups would hide what the engine tells of
                    reading = tasks.create_task(self._read_ahead(stage, states), name="first reading")
                    try:
                        await self._play(stage, self._head)
                    except SensorsError as error:
                        failure = error
                    reading.cancel()
                if failure is not None:
                    raise failure
            finally:
                self._head.close()
                self._head = None

    def _obey(self, message: ReplayAsk, head: Head) -> ProblemMessage | None:  # noqa: C901  # a table: one case a wish
        here = self._target if self._target is not None else Target(at_ns=self.now_ns)
        match message:
            case ReplayPlayMessage(playing=playing):
                if playing and self._ended:
                    self._target = Target(at_ns=self._first_ns)
                head.at_ns = self.now_ns  # it stops where it is, between two packets
                self._playing, self._steps = playing, 0
            case ReplaySpeedMessage(speed=speed) if 0.0 < speed < SLOWEST:
                return advice.too_slow()
            case ReplaySpeedMessage(speed=speed):
                head.at_ns, self.speed = self.now_ns, speed
            case ReplaySeekMessage(to_s=to_s):
                self._go(self._first_ns + round(to_s / _NS))
            case ReplaySkipMessage(by_s=by_s):
                self._playing = False
                self._go(here.at_ns + round(by_s / _NS))
            case ReplayStepMessage(packets=packets):
                self._step(packets, head)
            case ReplayRepMessage(to=to):
                at_s = (here.at_ns - self._first_ns) * _NS
                rep = self.timeline.next_rep(at_s) if to == "next" else self.timeline.previous_rep(at_s)
                if rep is None:
                    return advice.no_such_rep(known=self.timeline.duration_s is not None)
                self._go(self._first_ns + round(rep.from_s / _NS))
                self._loop = rep if self._loop is not None else None
            case ReplayLoopMessage(rep=None):
                self._loop = None
            case ReplayLoopMessage(rep=int() as index):
                found = self.timeline.rep(index)
                if found is None:
                    return advice.no_such_rep(known=self.timeline.duration_s is not None)
                self._go(self._first_ns + round(found.from_s / _NS))
                self._loop, self._playing = found, True
        return None

    def _go(self, at_ns: int) -> None:
        """Wish oneself to a time; a loop that it is not in is over."""
        duration_s = self.timeline.duration_s
        last_ns = at_ns if duration_s is None else self._first_ns + round(duration_s / _NS)
        self._target, self._steps = Target(at_ns=min(max(at_ns, self._first_ns), last_ns)), 0
        at_s = (self._target.at_ns - self._first_ns) * _NS
        if self._loop is not None and not self._loop.from_s <= at_s <= self._loop.to_s:
            self._loop = None

    def _step(self, packets: int, head: Head) -> None:
        self._playing = False
        if self._target is not None or self._ended:
            return
        if packets > 0:
            self._steps += packets
        elif packets < 0:
            self._steps = 0
            self._target = head.packets_ago(-packets, self._first_ns)

    async def _play(self, stage: Stage, head: Head) -> None:
        self._pace.start(self._first_ns, self.speed)
        self._tell()
        while True:
            if self._target is not None:
                await self._jump(stage, head)
                continue
            event = head.stream.peek()
            if self._loop is not None and self._playing and self._is_over(self._loop, event):
                self._target = Target(at_ns=self._first_ns + round(self._loop.from_s / _NS))
                continue
            if self._ended or not (self._playing or self._steps):
                await self._wished.wait()
                self._wished.clear()
            elif event is None:
                self._end(stage, head)
                await asyncio.sleep(0)
            elif self._steps or await self._is_due(event.arrival_ns):
                self._push(event, head)
                await asyncio.sleep(0)  # the senders' turn, also within a burst

    def _is_over(self, rep: TimelineRep, event: SourceEvent | None) -> bool:
        return event is None or (event.arrival_ns - self._first_ns) * _NS > rep.to_s

    async def _is_due(self, arrival_ns: int) -> bool:
        """Wait until an event is due; False when somebody wants something else first."""
        if arrival_ns < self._hurry_ns:
            self._pace.start(arrival_ns, self.speed)
            return True
        wait_s = self._pace.wait_s(arrival_ns)
        if wait_s <= 0.0:
            return True
        try:
            async with asyncio.timeout(wait_s):
                await self._wished.wait()
        except TimeoutError:
            return True
        self._wished.clear()
        return False

    def _push(self, event: SourceEvent, head: Head) -> None:
        if isinstance(event, SensorInfo | RawPacket):
            self._sensors[event.sensor] = None
        brought_frame = head.push(event)
        if self._steps and brought_frame:
            self._steps -= 1
            if not self._steps:
                self._tell()

    async def _jump(self, stage: Stage, head: Head) -> None:
        """Go where somebody wants to be, or, when they want something else meanwhile, there."""
        loud = True
        while (target := self._target) is not None:
            self._seeking = True
            loud = head.set_off(target, from_end=self._ended) and loud
            self._ended = False
            if await head.run_up(target, wanted=lambda: self._target):
                self._target = None
        self._seeking = False
        self._pace.start(head.at_ns, self.speed)
        self._hurry_ns = 0  # somebody who winds wants to see the fit as well
        if not loud:
            stage.land(self.view)
        self._tell()

    def _end(self, stage: Stage, head: Head) -> None:
        for stopped in links_stopped(self._sensors, head.at_ns):
            stage.push(stopped)
        stage.end(again=self._repeat)
        if self._repeat:
            head.begin_again()
            self._hurry_ns = self._last_move_ns
            self._pace.start(self._first_ns, self.speed)
        else:
            self._playing, self._ended = False, True
        self._tell()

    async def _read_ahead(self, stage: Stage, states: Path) -> None:
        try:
            async with aclosing(self._survey(self.path, stage.source, stage.opened_with, states)) as handfuls:
                async for handful in handfuls:
                    for news in handful:
                        self._learn(news)
                    stage.show_timeline(self.timeline.message())
        except SurveyFailed as error:
            self.timeline.trouble = advice.not_read(str(error))
            stage.show_timeline(self.timeline.message())

    def _learn(self, news: News) -> None:
        timeline = self.timeline
        match news:
            case Spilled():
                if self._head is not None:
                    self._head.keyframes.add(news)
            case Far():
                timeline.known_s = max(0.0, (news.last_ns - self._first_ns) * _NS)
                timeline.progress = news.progress
                if news.over:
                    timeline.duration_s, timeline.trouble = timeline.known_s, news.trouble
            case _:
                timeline.add(news)

    def _tell(self) -> None:
        if self._stage is not None:
            self._stage.show(self.view)
