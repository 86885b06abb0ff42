"""One practice: takes events from a source, records them, runs the pipeline, tells the clients.

Rule 1: the recorder taps first, so that a replay repeats whatever happened after it.
Rule 2: one event after the other. A fit is worked out beside the loop, so that other practices go on; what comes meanwhile waits.
Rule 3: trouble with devices and disks is told to the person and the service lives; a bug escapes and stops it.
"""

from __future__ import annotations

import asyncio
import logging
import time
from collections.abc import Awaitable, Callable
from dataclasses import replace
from typing import TYPE_CHECKING, Final

from fusion.pipeline import Pipeline
from sensors.errors import SensorsError
from sensors.events import (
    LinkReason,
    LookAheadSet,
    MoveStart,
    PauseSet,
    PlayerSet,
    RawPacket,
    SensorPlaced,
    SourceEvent,
)
from sensors.ids import Move, Role
from sensors.sources.base import Source, controls_of
from sensors.sources.clock_watch import ClockWatch
from server import views
from server.advice import (
    club_refused_advice,
    move_refused_advice,
    not_begun_advice,
    reason_advice,
    source_advice,
)
from server.choosing.choice import Choice
from server.choosing.sentences import no_choice_advice
from server.chosen import Chosen
from server.drill_views import drill_choice, drill_view
from server.drills import DrillText, catalogue, default_drill
from server.habits import HabitStore
from server.health_views import tape_view
from server.hub import Hub
from server.lesson import Lesson
from server.notices import Notices
from server.present import Present
from server.replay.advice import not_a_replay
from server.replay.stage import Stage
from server.source_time import SourceTime
from server.tape import Tape
from server.tape_news import TapeNews
from server.telling import Telling
from server.trims import TrimStore
from server.wire import EndMessage, ProblemMessage, SensorsMessage, SourceView
from server.wire_choosing import ChoosingMessage
from server.wire_client import BlinkMessage, ChooseMessage, PlaceMessage, SwapMessage
from server.wire_lesson import MarkRepMessage, SayMessage, WriteNoteMessage
from server.wire_replay import ReplayAsk

if TYPE_CHECKING:
    from server.replay.deck import Deck

_log = logging.getLogger(__name__)

HEALTH_EVERY_S: Final = 0.5


def default_pipeline() -> Pipeline:
    """Make the pipeline of a new practice."""
    return Pipeline(default_drill())


class Engine:
    """`await run()` plays the source and then keeps the state for late joiners, until cancelled.

    `player` goes in front of a live source's own events; calibrations made live are kept in `trims`, what a fit shows of the
    player in `habits`; what `watch` sees of the clocks comes into the stream. With `repeat` each end of the source is a new
    beginning. A `deck` plays a recording in the place of a source, as it is asked to. `choice` lets a person choose among the
    sensors in reach, and is told what they chose. `tell` is told, a sentence at a time, what the terminal should show.
    `asked` is told of each fit move that the page begins, for a source that has a golfer of its own.
    `make_pipeline`, `clock_ns` and `sleep` are for tests.
    """

    def __init__(
        self,
        make_source: Callable[[], Source] | None = None,
        *,
        view: SourceView,
        repeat: bool = False,
        deck: Deck | None = None,
        player: PlayerSet | None = None,
        tape: Tape | None = None,
        trims: TrimStore | None = None,
        habits: HabitStore | None = None,
        drill: DrillText | None = None,
        second: DrillText | None = None,
        choice: Choice | None = None,
        tell: Callable[[str], None] = lambda _: None,
        watch: ClockWatch | None = None,
        asked: Callable[[Move], None] | None = None,
        make_pipeline: Callable[[], Pipeline] = default_pipeline,
        clock_ns: Callable[[], int] = time.monotonic_ns,
        sleep: Callable[[float], Awaitable[None]] = asyncio.sleep,
    ) -> None:
        self.n_events = 0
        self.n_packets = 0
        self.n_bad_stamps = 0
        """Events whose stamp had to be moved up to the one before."""
        self._waiting: list[SourceEvent] | None = None
        """What came while a fit is worked out; None when none is."""
        self._make_source = make_source
        self._live = view.kind in ("live", "virtual")
        self._asked = asked
        self._repeat = repeat
        self._chosen = Chosen(player=player, drill=drill, second=second)
        self._tape = tape or Tape(None)
        self._tape_news = TapeNews(self._tape, tell)
        self._choice = choice or Choice(is_open=False, on_made=lambda _: None)
        self._tell = tell
        self._told_trouble = LinkReason.NONE
        self._can_choose = False
        self._watch = watch
        self._make_pipeline = make_pipeline
        pipeline = make_pipeline()
        speed = (
            0.0 if deck is not None else None if view.kind == "live" else view.speed
        )  # a deck's events alone move time
        self._time = SourceTime(clock_ns, speed=speed)
        self._sleep = sleep
        self.hub = Hub(
            Present(
                source=view,
                drill=drill_view(pipeline.drill),
                drills=tuple(drill_choice(one) for one in catalogue()),
                player=views.player_view(player),
                recording=self._tape_news.recording,
            )
        )
        self._notices = Notices(self.hub, live=self._live, tell=tell, trims=trims, habits=habits)
        self._telling = Telling(
            self.hub, self._notices, pipeline, live=self._live, sensors_changed=self._publish_sensors
        )
        self._deck = deck
        self._stage = None if deck is None else Stage(
            self.hub, self._telling, self._chosen, self._time, take=self._take, sensors_changed=self._publish_sensors
        )  # fmt: skip
        self.lesson = Lesson(
            self.hub,
            self._chosen,
            pipeline=lambda: self.pipeline,
            begun=lambda: self._time.last_ns is not None,
            now_ns=self._time.now_ns,
            wish=self._wish,
        )
        """Everything asked about drills."""

    @property
    def pipeline(self) -> Pipeline:
        """What makes numbers of the events, in this run of the source."""
        return self._telling.pipeline

    @property
    def n_frames(self) -> int:
        """Frames made."""
        return self._telling.n_frames

    async def run(self) -> None:
        """Run until cancelled; a bug anywhere below ends it with an exception group."""
        try:
            async with asyncio.TaskGroup() as tasks:
                tasks.create_task(self._tick(), name="sensor health")
                await self._play()
        finally:
            self._tape.close()

    def begin_move(self, move: Move) -> ProblemMessage | None:
        """The golfer begins a fit pose now; gives the reason when that cannot be."""
        over = self.hub.present.ended
        if over or not self._live:
            return ProblemMessage(code="move_refused", text=move_refused_advice(over=over))
        self._take(MoveStart(arrival_ns=self._time.now_ns(), move=move))
        if self._asked is not None:
            self._asked(move)
        return None

    def look_ahead(self, ms: int) -> None:
        """Begin the cue so much early, from the next swing on."""
        self._chosen.lead_s = ms / 1e3
        self._wish(LookAheadSet(arrival_ns=self._time.now_ns(), lead_s=ms / 1e3))

    def pause(self, on: bool) -> None:  # noqa: FBT001  # as the message has it
        """Pause, or go on."""
        self._chosen.paused = on
        self._wish(PauseSet(arrival_ns=self._time.now_ns(), paused=on))

    def choose_club(self, club: str) -> ProblemMessage | None:
        """The player swings another club, from the next address on; gives the reason when that cannot be."""
        return self._change_player(lambda player: replace(player, club=club.strip(), club_length_m=0.0))

    def set_lengths(self, club_m: float | None, arm_m: float | None) -> ProblemMessage | None:
        """So long are club and lead arm, from the next address on; gives the reason when that cannot be."""
        return self._change_player(
            lambda player: replace(player, club_length_m=club_m or 0.0, arm_length_m=arm_m or 0.0)
        )

    def _change_player(self, change: Callable[[PlayerSet], PlayerSet]) -> ProblemMessage | None:
        player, over = self._chosen.player, self.hub.present.ended
        if player is None or not self._live or over:
            return ProblemMessage(code="club_refused", text=club_refused_advice(over=over))
        changed = replace(change(player), arrival_ns=self._time.now_ns())
        self._chosen.player = changed
        self._telling.set_player(changed)
        self._wish(changed)
        return None

    def add(self, message: MarkRepMessage | WriteNoteMessage | SayMessage, *, by: str) -> ProblemMessage | None:
        """Somebody marks, notes or says something, also when the source is over; gives the reason when that cannot be."""
        if not self._time.is_known:
            return ProblemMessage(code="not_begun", text=not_begun_advice())
        event = self._telling.remarks.event_of(message, by=by, arrival_ns=self._time.aside_ns())
        if isinstance(event, ProblemMessage):
            return event
        if self._deck is not None:
            self._deck.add(event)
        else:
            self._take(event)
        return None

    def replay(self, message: ReplayAsk) -> ProblemMessage | None:
        """Somebody winds the recording; gives the reason when that cannot be."""
        return not_a_replay(live=self._live) if self._deck is None else self._deck.ask(message)

    async def choose(self, message: ChooseMessage | PlaceMessage | SwapMessage | BlinkMessage) -> ProblemMessage | None:
        """Somebody chooses among the sensors; gives the reason when that cannot be."""
        over = self.hub.present.ended
        if not self._can_choose or over:
            return ProblemMessage(code="no_choice", text=no_choice_advice(over=over))
        problem = await self._choice.obey(message, over=over)
        self._publish_choice()
        return problem

    async def _play(self) -> None:
        while True:
            n_before = self.n_events
            again = self._repeat
            try:
                await self._play_once()
            except SensorsError as error:
                _log.warning("the source failed: %s", error)
                self.hub.publish(ProblemMessage(code="source_failed", text=source_advice(error)))
                again = False
            again = again and self.n_events > n_before  # a source with nothing in it would spin
            self._telling.hush()
            self.hub.publish(EndMessage(again=again))
            if not again:
                return
            self._begin_again()

    async def _play_once(self) -> None:
        if self._deck is not None and self._stage is not None:
            await self._deck.run(self._stage)
        elif self._make_source is not None:
            await self._play_source(self._make_source())

    async def _play_source(self, source: Source) -> None:
        async with source:
            controls = controls_of(source)
            self._can_choose = self._live and controls is not None
            self._choice.attach(controls)
            self._publish_choice()
            async for event in source:
                if self._live and isinstance(event, RawPacket) and self.pipeline.may_fit:
                    await self._take_beside(event)
                else:
                    self._take(event)
                await asyncio.sleep(0)  # the senders' turn, also within a burst

    def _begin_again(self) -> None:
        self._telling.begin_again(self._make_pipeline())
        self._time.restart()

    async def _tick(self) -> None:
        """Refresh what depends on time alone: a sensor that says nothing causes no event."""
        while True:
            await self._sleep(HEALTH_EVERY_S)
            self._telling.look()
            for jump in self._watch.look() if self._watch is not None else ():
                self._take(jump)
            self._tape_news.look(self.hub)
            if self._deck is not None:
                self._deck.look()
            if self._waiting is None:  # what is being pushed is not to be looked at
                self._publish_sensors()
            if self._choice.is_open:
                self._publish_choice()

    async def _take_beside(self, event: SourceEvent) -> None:
        """Take in samples that may bring a fit."""
        event = self._in_order(event)
        if self._choice.push(event):
            self._publish_choice()
        for passed in self._choice.curtain.passed(event):
            self._note(passed)
            await self._work_out(passed)

    async def _work_out(self, event: SourceEvent) -> None:
        """Push beside the loop, then take in whatever came meanwhile: of a practice that is being stopped, too."""
        self._waiting = []
        outputs = asyncio.get_running_loop().run_in_executor(None, self.pipeline.push, event)
        try:
            await asyncio.wait({outputs})
        finally:
            if not outputs.done():
                await asyncio.wait({outputs})
            waiting, self._waiting = self._waiting, None
            self._telling.tell(event, outputs.result())
            for late in waiting:
                self._take(late)

    def _take(self, event: SourceEvent) -> None:
        if self._waiting is not None:
            self._waiting.append(event)
            return
        event = self._in_order(event)
        to_show = self._choice.push(event)
        for passed in self._choice.curtain.passed(event):
            self._push(passed)
        if isinstance(event, SensorPlaced):
            self._choice.placed()
        if to_show:
            self._publish_choice()

    def _in_order(self, event: SourceEvent) -> SourceEvent:
        last_ns = self._time.last_ns
        if last_ns is None:
            self._open(event.arrival_ns)
        elif event.arrival_ns < last_ns:
            # A packet that was already on its way here when the page's tap was stamped: order of arrival is the order here.
            event = replace(event, arrival_ns=last_ns)
            self.n_bad_stamps += 1
        return event

    def _wish(self, event: SourceEvent) -> None:
        """Somebody wants it so from now on. Before the first event it waits, to go in front of it."""
        if self._deck is not None:
            self._deck.forget()
        if self._time.last_ns is not None and not self.hub.present.ended:
            self._take(event)

    def _open(self, arrival_ns: int) -> None:
        """What was chosen before the first event goes in front of it."""
        for event in self._chosen.opening(arrival_ns):
            self._push(event)

    def _push(self, event: SourceEvent) -> None:
        self._note(event)
        self._telling.push(event)

    def _note(self, event: SourceEvent) -> None:
        """Record an event, and count it."""
        self._time.note(event.arrival_ns)
        self._tape.write(event)
        self.n_events += 1
        if isinstance(event, RawPacket):
            self.n_packets += 1

    def _publish_choice(self) -> None:
        if not self._can_choose:
            return
        view = self._choice.view(self._time.now_ns())
        if view.trouble is not self._told_trouble:
            self._told_trouble = view.trouble
            if view.trouble is not LinkReason.NONE:
                self._tell(reason_advice(view.trouble))
        self.hub.publish(ChoosingMessage(choosing=view))

    def _publish_sensors(self) -> None:
        now_ns = self._time.now_ns() if self._deck is None else self._deck.now_ns
        health = [one for one in self.pipeline.health(now_ns) if one.role is not Role.SPARE]
        before = {view.sensor: view for view in self.hub.present.sensors}
        sensors = [views.sensor_view(one, before.get(one.sensor), self._notices.trim_due(one.sensor)) for one in health]
        self._notices.figures(health, now_ns)
        tape = tape_view(self._tape.status) if self._tape.is_on else None
        self.hub.publish(SensorsMessage(sensors=sensors, tape=tape))
