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

from fusion.drills.catalogue import default_drill
from fusion.outputs import CueChange, Doubt, FitProgress, PhaseChange, Readout, Rep, RepRefined, Series, TrimFound
from fusion.pipeline import Pipeline
from sensors.errors import SensorsError
from sensors.events import LinkChange, LinkReason, MoveStart, PlayerSet, RawPacket, SensorInfo, SourceEvent
from sensors.ids import Move
from sensors.sources.base import Source
from server import views
from server.advice import link_advice, move_refused_advice, recorder_advice, source_advice
from server.hub import Hub
from server.present import Present
from server.source_time import SourceTime
from server.tape import Tape
from server.trim_advice import not_kept_advice
from server.trims import TrimStore
from server.wire import CueMessage, EndMessage, ProblemMessage, SensorsMessage, SourceView

_log = logging.getLogger(__name__)

HEALTH_EVERY_S: Final = 0.5


def default_pipeline() -> Pipeline:
    """Make the pipeline of a new practice."""
    return Pipeline(default_drill())


class Engine:
    """`await run()` plays the source and then keeps the state for late joiners, until cancelled.

    `player` goes in front of a live source's own events; calibrations made live are kept in `trims`; `asked` is told of each
    fit move that the page begins, for a source that has a golfer of its own. With `repeat` each end of the source is a new
    beginning.
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
        self._player = player
        self._tape = tape or Tape(None)
        self._trims = trims
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
                drill=views.drill_view(self._pipeline.drill),
                player=views.player_view(player),
                recording=str(self._tape.path) if self._tape.path else None,
            )
        )

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
            async for event in source:
                self._take(event)
                await asyncio.sleep(0)  # the senders' turn, also within a burst

    def _begin_again(self) -> None:
        self._pipeline = self._make_pipeline()
        self._time.restart()
        self._sounding = self._hushed = self._heard = False

    async def _tick(self) -> None:
        """Refresh what depends on time alone: a sensor that says nothing causes no event."""
        while True:
            await self._sleep(HEALTH_EVERY_S)
            if not self._heard:
                self._hush()
            self._heard = False
            self._publish_sensors()

    def _take(self, event: SourceEvent) -> None:
        last_ns = self._time.last_ns
        if last_ns is None and self._player is not None:
            self._push(replace(self._player, arrival_ns=event.arrival_ns))
        elif last_ns is not None and event.arrival_ns < last_ns:
            # A packet that was already on its way here when the page's tap was stamped: order of arrival is the order here.
            event = replace(event, arrival_ns=last_ns)
            self.n_bad_stamps += 1
        self._push(event)

    def _push(self, event: SourceEvent) -> None:
        self._time.note(event.arrival_ns)
        self._record(event)
        self.n_events += 1
        outputs = self._pipeline.push(event)
        match event:
            case RawPacket():
                self.n_packets += 1
            case PlayerSet():
                self._set_player(event)
            case SensorInfo():
                if self.hub.present.solved(f"sensor:{event.sensor}"):
                    self.hub.renew()
            case LinkChange():
                self._note_link(event)
            case _:
                pass
        for output in outputs:
            if not isinstance(output, Readout | Series):  # a series is never asked for here
                self._publish_event(output)
        for output in outputs:
            if isinstance(output, Readout):  # after the events of the same instant, the cue above all
                self._publish_frame(output)

    def _record(self, event: SourceEvent) -> None:
        error = self._tape.write(event)
        if error is not None:
            self.hub.present.recording = None
            self.hub.renew()
            self.hub.publish(ProblemMessage(code="recording_stopped", text=recorder_advice(error)))

    def _set_player(self, player: PlayerSet) -> None:
        view = views.player_view(player)
        if view != self.hub.present.player:
            self.hub.present.player = view
            self.hub.renew()

    def _note_link(self, change: LinkChange) -> None:
        """Show a change at once. A sensor that was never connected is in no list yet, so its trouble is told in words."""
        known = {health.sensor for health in self._pipeline.health(change.arrival_ns)}
        if change.sensor in known:
            self._publish_sensors()
        elif change.reason is not LinkReason.NONE:
            text = f"Sensor {change.sensor}: {link_advice(change.state, change.reason)}"
            self.hub.publish(ProblemMessage(code=f"sensor:{change.sensor}", text=text))

    def _keep_trim(self, found: TrimFound) -> None:
        """Keep a new calibration for the next practice; what a recording says was kept when it was made."""
        if self._trims is None or not self._live:
            return
        try:
            self._trims.keep(found.sensor, found.trim)
        except (OSError, ValueError) as error:  # pydantic's errors are ValueErrors
            _log.warning("the calibration of %s was not kept: %s", found.sensor, error)
            problem = error.strerror if isinstance(error, OSError) else None
            text = not_kept_advice(problem or "it is not one that a sound sensor can have")
            self.hub.publish(ProblemMessage(code=f"trim:{found.sensor}", text=text))

    def _publish_event(self, output: PhaseChange | Rep | RepRefined | CueChange | FitProgress | TrimFound) -> None:
        match output:
            case TrimFound():
                self._keep_trim(output)
            case CueChange():
                self._sounding, self._hushed = output.sounding, False
                self.hub.publish(views.cue_message(output))
            case PhaseChange():
                self.hub.publish(views.phase_message(output))
            case Rep():
                self.hub.publish(views.rep_message(output, replayed=not self._live))
            case RepRefined():  # the page has told its own; late joiners get the better one
                self.hub.present.refine(views.rep_message(output.rep, replayed=not self._live))
            case FitProgress():
                self.hub.publish(views.fit_message(output, self._pipeline.fit))
            case _:
                assert_never(output)

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

    def _publish_sensors(self) -> None:
        health = self._pipeline.health(self._time.now_ns())
        before = {view.sensor: view for view in self.hub.present.sensors}
        self.hub.publish(SensorsMessage(sensors=[views.sensor_view(one, before.get(one.sensor)) for one in health]))

    def _hush(self) -> None:
        """A cue must not sound on when nothing is known any more; the pipeline, asleep, cannot say so."""
        if self._sounding and not self._hushed:
            self._hushed = True
            self.hub.publish(CueMessage(t_s=self._t_s, sounding=False, error_deg=0.0))
