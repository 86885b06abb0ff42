"""What the pipeline makes of a practice, told to its pages as it comes."""

from __future__ import annotations

import pickle
from collections.abc import Callable
from typing import assert_never

from fusion.outputs.cue import CueChange, DrillNews, Signal
from fusion.outputs.fit import FitProgress, FitState, HabitFound, SensorTurned, TrimFound
from fusion.outputs.instant import Doubt, Readout, Series
from fusion.outputs.output import Output
from fusion.outputs.rep import PhaseChange, Rep, RepRefined
from fusion.pipeline import Pipeline
from sensors.events import (
    BatteryLevel,
    ClockJump,
    HabitSet,
    LinkChange,
    LookAheadSet,
    MessageSaid,
    NoteWritten,
    PauseSet,
    PlayerSet,
    RepMarked,
    SensorInfo,
    SensorPlaced,
    SourceEvent,
)
from sensors.ids import Role
from server import views
from server.drill_views import drill_message
from server.hub import Hub
from server.notices import Notices
from server.remarks import Remarks
from server.wire import CueMessage, ProblemMessage


class Telling:
    """`push` every event. `sensors_changed` is called when the list of sensors should be told anew."""

    def __init__(
        self, hub: Hub, notices: Notices, pipeline: Pipeline, *, live: bool, sensors_changed: Callable[[], None]
    ) -> None:
        self.pipeline = pipeline
        self.remarks = Remarks(hub)
        self.n_frames = 0
        self._hub = hub
        self._notices = notices
        self._live = live
        self._sensors_changed = sensors_changed
        self._t_s = 0.0
        self._sounding = False
        self._hushed = False
        self._heard = False
        hub.present.fit = views.fit_view(pipeline.fit)

    def begin_again(self, pipeline: Pipeline) -> None:
        """Tell another run of the same practice; frames are counted on, so that acknowledgements stay true."""
        self.pipeline = pipeline
        self.remarks = Remarks(self._hub)
        self._sounding = self._hushed = self._heard = False
        self._hub.present.fit = views.fit_view(pipeline.fit)

    def save(self) -> bytes:
        """Everything that the events so far have led to, to go on from later as if nothing had been between."""
        own = (self.remarks.counts, self._t_s, self._sounding, self._hushed)
        return pickle.dumps((self.pipeline, own, self._hub.present.told), pickle.HIGHEST_PROTOCOL)

    def restore(self, saved: bytes) -> None:
        """Be as it was when that was saved, by this program; frames are counted on."""
        self.pipeline, own, told = pickle.loads(saved)  # noqa: S301  # made by `save` in this run of the program
        self.remarks.counts, self._t_s, self._sounding, self._hushed = own
        self._hub.present.restore(told)

    def show_again(self) -> None:
        """After a jump: the newest frame, as a new one."""
        frame = self._hub.present.frame
        if frame is not None:
            self.n_frames += 1
            self._hub.publish(frame.model_copy(update={"seq": self.n_frames}))

    def push(self, event: SourceEvent) -> tuple[Output, ...]:
        """Take in one event, and tell what it brings; gives it, too. Raises as the pipeline does."""
        return self.tell(event, self.pipeline.push(event))

    def tell(self, event: SourceEvent, outputs: tuple[Output, ...]) -> tuple[Output, ...]:
        """Tell what an event has brought; gives it, too."""
        self._note(event)
        for output in outputs:
            self._publish_event(output)
        for output in outputs:
            if isinstance(output, Readout):  # after the events of the same instant, the cue above all
                self._publish_frame(output)
        return outputs

    def look(self) -> None:
        """Now and then: a cue must not sound on when nothing has been heard since the last look."""
        if not self._heard:
            self.hush()
        self._heard = False

    def hush(self) -> None:
        """A cue must not sound on when nothing is known any more; the pipeline, asleep, cannot say so."""
        if self._sounding and not self._hushed:
            self._hushed = True
            self._hub.publish(CueMessage(t_s=self._t_s, sounding=False, error_deg=0.0))

    def set_player(self, player: PlayerSet) -> None:
        """Show who swings, and with what."""
        view = views.player_view(player)
        if view != self._hub.present.player:
            self._hub.present.player = view
            self._hub.renew()

    def _note(self, event: SourceEvent) -> None:  # noqa: C901  # a table: one case an event
        """What an event means for the pages beside what the pipeline makes of it."""
        match event:
            case PlayerSet():
                self.set_player(event)
            case SensorInfo():
                self._introduce(event)
            case LinkChange():
                if self._notices.link(event, self.pipeline.health(event.arrival_ns)):
                    self._sensors_changed()
            case SensorPlaced():
                self._sensors_changed()
            case BatteryLevel():
                self._notices.batteries(self.pipeline.health(event.arrival_ns))
            case ClockJump():
                self._notices.clock(event)
            case HabitSet():
                self._hub.present.fit = views.fit_view(self.pipeline.fit)
                self._hub.renew()
            case LookAheadSet() | PauseSet():
                self._publish_drill()
            case RepMarked() | NoteWritten() | MessageSaid():
                self.remarks.show(event, self._t_s)
            case _:
                pass

    def _introduce(self, info: SensorInfo) -> None:
        self._notices.introduce(info)
        fit = views.fit_view(self.pipeline.fit)
        void = fit != self._hub.present.fit  # another sensor in its place, or the same in another's
        self._hub.present.fit = fit
        if self._hub.present.solved(f"sensor:{info.sensor}") or void:
            self._hub.renew()

    def _publish_event(self, output: Output) -> None:  # noqa: C901, PLR0912  # a table: one case an output
        match output:
            case Readout() | Series():  # nearly all that come: the one is told last, the other is never asked for here
                pass
            case TrimFound():
                self._notices.keep_trim(output)
            case HabitFound():
                self._notices.keep_habit(output)
            case CueChange():
                self._sounding, self._hushed = output.sounding, False
                self._hub.publish(views.cue_message(output))
            case Signal():
                self._hub.publish(views.signal_message(output))
            case PhaseChange():
                self._hub.publish(views.phase_message(output))
            case Rep():
                self._hub.publish(views.rep_message(output, replayed=not self._live))
                if self.pipeline.course.tallies:
                    self._publish_drill()
            case DrillNews():
                self._note_drill(output)
            case RepRefined():  # the page has told its own; late joiners get the better one
                self._hub.present.refine(views.rep_message(output.rep, replayed=not self._live))
            case FitProgress():
                self._hub.publish(views.fit_message(output, self.pipeline.fit))
                if output.complete and output.state is FitState.TAKEN:
                    self._notices.sits_again(*Role)
            case SensorTurned():
                self._notices.turned(output)
            case _:
                assert_never(output)

    def _note_drill(self, news: DrillNews) -> None:
        if news.problem:
            text = f"The recording holds a drill that cannot be used ({news.problem}). The one before stays."
            self._hub.publish(ProblemMessage(code="drill_invalid", text=text))
        else:
            self._publish_drill()

    def _publish_drill(self) -> None:
        now = self.pipeline
        self._hub.publish(
            drill_message(now.drill, now.course, now.lead_s, paused=now.desk.paused, second=now.desk.second)
        )

    def _publish_frame(self, readout: Readout) -> None:
        self._heard = True
        self._t_s = readout.t_s
        if readout.doubt is Doubt.NONE:
            self._hushed = False
        else:
            self.hush()
        self.n_frames += 1
        self._hub.publish(
            views.frame_message(
                readout,
                seq=self.n_frames,
                sounding=self._sounding,
                replayed=not self._live,
                standing=self.pipeline.standing(readout.t_s) if self._live else None,
            )
        )
