"""One practice: takes events from a source, records them, runs the pipeline, tells the clients.

Rule 1: the recorder taps first, so that a replay repeats whatever happened after it.
Rule 2: trouble with devices and disks is told to the person and the service lives; a bug escapes and stops it.
"""

from __future__ import annotations

import asyncio
import logging
import time
from collections.abc import Awaitable, Callable
from dataclasses import replace
from typing import Final, assert_never

from fusion.outputs import (
    CueChange,
    Doubt,
    DrillNews,
    FitProgress,
    FitState,
    PhaseChange,
    Readout,
    Rep,
    RepRefined,
    SensorTurned,
    Series,
    Signal,
    TrimFound,
)
from fusion.pipeline import Pipeline
from sensors.errors import SensorsError
from sensors.events import (
    BatteryLevel,
    ClockJump,
    LinkChange,
    LinkReason,
    LookAheadSet,
    MessageSaid,
    MoveStart,
    NoteWritten,
    PauseSet,
    PlayerSet,
    RawPacket,
    RepMarked,
    SensorInfo,
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
from server.drill_views import drill_choice, drill_message, drill_view
from server.drills import DrillText, catalogue, default_drill
from server.health_views import tape_view
from server.hub import Hub
from server.lesson import Lesson
from server.notices import Notices
from server.present import Present
from server.remarks import Remarks
from server.source_time import SourceTime
from server.tape import Tape
from server.tape_news import TapeNews
from server.trims import TrimStore
from server.wire import ChoosingMessage, CueMessage, EndMessage, ProblemMessage, SensorsMessage, SourceView
from server.wire_client import BlinkMessage, ChooseMessage, PlaceMessage, SwapMessage
from server.wire_lesson import MarkRepMessage, SayMessage, WriteNoteMessage

_log = logging.getLogger(__name__)

HEALTH_EVERY_S: Final = 0.5


def default_pipeline() -> Pipeline:
    """Make the pipeline of a new practice."""
    return Pipeline(default_drill())


class Engine:
    """`await run()` plays the source and then keeps the state for late joiners, until cancelled.

    `player` goes in front of a live source's own events; calibrations made live are kept in `trims`; what `watch` sees of the
    clocks comes into the stream. With `repeat` each end of the source is a new beginning. `choice` lets a person choose among
    the sensors in reach, and is told what they chose. `tell` is told, a sentence at a time, what the terminal should show.
    `asked` is told of each fit move that the page begins, for a source that has a golfer of its own.
    `make_pipeline`, `clock_ns` and `sleep` are for tests.
    """

    def __init__(
        self,
        make_source: Callable[[], Source],
        *,
        view: SourceView,
        repeat: bool = False,
        player: PlayerSet | None = None,
        tape: Tape | None = None,
        trims: TrimStore | None = None,
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
        self.n_frames = 0
        self.n_bad_stamps = 0
        """Events whose stamp had to be moved up to the one before."""
        self._make_source = make_source
        self._live = view.kind in ("live", "virtual")
        self._asked = asked
        self._repeat = repeat
        self._chosen = Chosen(player=player, drill=drill, second=second)
        self._tape = tape or Tape(None)
        self._tape_news = TapeNews(self._tape)
        self._choice = choice or Choice(is_open=False, on_made=lambda _: None)
        self._tell = tell
        self._told_trouble = LinkReason.NONE
        self._can_choose = False
        self._watch = watch
        self._make_pipeline = make_pipeline
        self._pipeline = make_pipeline()
        self._time = SourceTime(clock_ns, speed=None if view.kind == "live" else view.speed)
        self._sleep = sleep
        self._t_s = 0.0
        self._sounding = False
        self._hushed = False
        self._heard = False
        self.hub = Hub(
            Present(
                source=view,
                drill=drill_view(self._pipeline.drill),
                drills=tuple(drill_choice(one) for one in catalogue()),
                player=views.player_view(player),
                recording=self._tape_news.recording,
            )
        )
        self._remarks = Remarks(self.hub)
        self._notices = Notices(self.hub, live=self._live, tell=tell, trims=trims)
        self.lesson = Lesson(
            self.hub,
            self._chosen,
            pipeline=lambda: self._pipeline,
            begun=lambda: self._time.last_ns is not None,
            now_ns=self._time.now_ns,
            wish=self._wish,
        )
        """Everything asked about drills."""

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
        player, over = self._chosen.player, self.hub.present.ended
        if player is None or not self._live or over:
            return ProblemMessage(code="club_refused", text=club_refused_advice(over=over))
        changed = replace(player, arrival_ns=self._time.now_ns(), club=club.strip(), club_length_m=0.0)
        self._chosen.player = changed
        self._set_player(changed)
        self._wish(changed)
        return None

    def add(self, message: MarkRepMessage | WriteNoteMessage | SayMessage, *, by: str) -> ProblemMessage | None:
        """Somebody marks, notes or says something, also when the source is over; gives the reason when that cannot be."""
        if not self._time.is_known:
            return ProblemMessage(code="not_begun", text=not_begun_advice())
        event = self._remarks.event_of(message, by=by, arrival_ns=self._time.aside_ns())
        if isinstance(event, ProblemMessage):
            return event
        self._take(event)
        return None

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
            self._hush()
            self.hub.publish(EndMessage(again=again))
            if not again:
                return
            self._begin_again()

    async def _play_once(self) -> None:
        async with self._make_source() as source:
            controls = controls_of(source)
            self._can_choose = self._live and controls is not None
            self._choice.attach(controls)
            self._publish_choice()
            async for event in source:
                self._take(event)
                await asyncio.sleep(0)  # the senders' turn, also within a burst

    def _begin_again(self) -> None:
        self._pipeline = self._make_pipeline()
        self._time.restart()
        self._sounding = self._hushed = self._heard = False
        self._remarks = Remarks(self.hub)

    async def _tick(self) -> None:
        """Refresh what depends on time alone: a sensor that says nothing causes no event."""
        while True:
            await self._sleep(HEALTH_EVERY_S)
            if not self._heard:
                self._hush()
            self._heard = False
            for jump in self._watch.look() if self._watch is not None else ():
                self._take(jump)
            self._tape_news.look(self.hub)
            self._publish_sensors()
            if self._choice.is_open:
                self._publish_choice()

    def _take(self, event: SourceEvent) -> None:
        last_ns = self._time.last_ns
        if last_ns is None:
            self._open(event.arrival_ns)
        elif event.arrival_ns < last_ns:
            # A packet that was already on its way here when the page's tap was stamped: order of arrival is the order here.
            event = replace(event, arrival_ns=last_ns)
            self.n_bad_stamps += 1
        to_show = self._choice.push(event)
        for passed in self._choice.curtain.passed(event):
            self._push(passed)
        if isinstance(event, SensorPlaced):
            self._choice.placed()
        if to_show:
            self._publish_choice()

    def _wish(self, event: SourceEvent) -> None:
        """Somebody wants it so from now on. Before the first event it waits, to go in front of it."""
        if self._time.last_ns is not None and not self.hub.present.ended:
            self._take(event)

    def _open(self, arrival_ns: int) -> None:
        """What was chosen before the first event goes in front of it."""
        for event in self._chosen.opening(arrival_ns):
            self._push(event)

    def _push(self, event: SourceEvent) -> None:
        self._time.note(event.arrival_ns)
        self._tape.write(event)
        self.n_events += 1
        outputs = self._pipeline.push(event)
        self._note(event)
        for output in outputs:
            if not isinstance(output, Readout | Series):  # a series is never asked for here
                self._publish_event(output)
        for output in outputs:
            if isinstance(output, Readout):  # after the events of the same instant, the cue above all
                self._publish_frame(output)

    def _note(self, event: SourceEvent) -> None:  # noqa: C901  # a table: one case an event
        """What an event means for the pages beside what the pipeline makes of it."""
        match event:
            case RawPacket():
                self.n_packets += 1
            case PlayerSet():
                self._set_player(event)
            case SensorInfo():
                self._notices.introduce(event)
                fit = views.fit_view(self._pipeline.fit)
                void = fit != self.hub.present.fit  # another sensor in its place, or the same in another's
                self.hub.present.fit = fit
                if self.hub.present.solved(f"sensor:{event.sensor}") or void:
                    self.hub.renew()
            case LinkChange():
                if self._notices.link(event, self._pipeline.health(event.arrival_ns)):
                    self._publish_sensors()
            case SensorPlaced():
                self._publish_sensors()
            case BatteryLevel():
                self._notices.batteries(self._pipeline.health(event.arrival_ns))
            case ClockJump():
                self._notices.clock(event)
            case LookAheadSet() | PauseSet():
                self._publish_drill()
            case RepMarked() | NoteWritten() | MessageSaid():
                self._remarks.show(event, self._t_s)
            case _:
                pass

    def _set_player(self, player: PlayerSet) -> None:
        view = views.player_view(player)
        if view != self.hub.present.player:
            self.hub.present.player = view
            self.hub.renew()

    def _publish_event(  # noqa: C901  # a table: one case an output
        self,
        output: PhaseChange
        | Rep
        | RepRefined
        | CueChange
        | Signal
        | FitProgress
        | SensorTurned
        | TrimFound
        | DrillNews,
    ) -> None:
        match output:
            case TrimFound():
                self._notices.keep_trim(output)
            case CueChange():
                self._sounding, self._hushed = output.sounding, False
                self.hub.publish(views.cue_message(output))
            case Signal():
                self.hub.publish(views.signal_message(output))
            case PhaseChange():
                self.hub.publish(views.phase_message(output))
            case Rep():
                self.hub.publish(views.rep_message(output, replayed=not self._live))
                if self._pipeline.course.tallies:
                    self._publish_drill()
            case DrillNews():
                self._note_drill(output)
            case RepRefined():  # the page has told its own; late joiners get the better one
                self.hub.present.refine(views.rep_message(output.rep, replayed=not self._live))
            case FitProgress():
                self.hub.publish(views.fit_message(output, self._pipeline.fit))
                if output.complete and output.state is FitState.TAKEN:
                    self._notices.sits_again(*Role)
            case SensorTurned():
                self._notices.turned(output)
            case _:
                assert_never(output)

    def _note_drill(self, news: DrillNews) -> None:
        if news.problem:
            text = f"The recording holds a drill that cannot be used ({news.problem}). The one before stays."
            self.hub.publish(ProblemMessage(code="drill_invalid", text=text))
        else:
            self._publish_drill()

    def _publish_drill(self) -> None:
        now = self._pipeline
        self.hub.publish(drill_message(now.drill, now.course, now.lead_s, paused=now.paused, second=now.desk.second))

    def _publish_frame(self, readout: Readout) -> None:
        self._heard = True
        self._t_s = readout.t_s
        if readout.doubt is Doubt.NONE:
            self._hushed = False
        else:
            self._hush()
        self.n_frames += 1
        self.hub.publish(
            views.frame_message(
                readout,
                seq=self.n_frames,
                sounding=self._sounding,
                replayed=not self._live,
            )
        )

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
        health = [one for one in self._pipeline.health(self._time.now_ns()) if one.role is not Role.SPARE]
        before = {view.sensor: view for view in self.hub.present.sensors}
        sensors = [views.sensor_view(one, before.get(one.sensor), self._notices.trim_due(one.sensor)) for one in health]
        tape = tape_view(self._tape.status) if self._tape.is_on else None
        self.hub.publish(SensorsMessage(sensors=sensors, tape=tape))

    def _hush(self) -> None:
        """A cue must not sound on when nothing is known any more; the pipeline, asleep, cannot say so."""
        if self._sounding and not self._hushed:
            self._hushed = True
            self.hub.publish(CueMessage(t_s=self._t_s, sounding=False, error_deg=0.0))
