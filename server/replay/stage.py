"""What a recording is played on: the practice as it stands, which can be put back to where it was."""

from __future__ import annotations

from collections.abc import Callable
from copy import copy

from sensors.events import SourceEvent
from server.chosen import Chosen
from server.hub import Hub
from server.source_time import SourceTime
from server.telling import Telling
from server.wire import EndMessage, SourceView
from server.wire_replay import ReplayMessage, ReplayTimelineMessage, ReplayView


class Stage:
    """Of one practice. `take` is how it takes an event; `sensors_changed` tells the list of sensors anew."""

    def __init__(
        self, hub: Hub, telling: Telling, chosen: Chosen, time: SourceTime, *,
        take: Callable[[SourceEvent], None], sensors_changed: Callable[[], None],
    ) -> None:  # fmt: skip
        self._hub = hub
        self._telling = telling
        self._chosen = chosen
        self._time = time
        self._take = take
        self._sensors_changed = sensors_changed
        self._beginning = telling.save()
        self.opened_with = copy(chosen)
        """What was chosen before it began, and is in every state of the first reading."""

    @property
    def source(self) -> SourceView:
        """What the pages are told of where the data come from."""
        return self._hub.present.source

    @property
    def n_frames(self) -> int:
        """Frames made so far."""
        return self._telling.n_frames

    def push(self, event: SourceEvent) -> None:
        """Play an event of the recording. What was chosen on the page holds until something else is chosen there."""
        if not self._chosen.overrides(event, self.opened_with):
            self._take(event)

    def save(self) -> bytes:
        """Everything that the events so far have led to."""
        return self._telling.save()

    def begin(self) -> None:
        """Be as before the first event, and from now on tell nobody until `land`."""
        self._hub.quiet = True
        self._telling.restore(self._beginning)
        self._time.restart()

    def restore(self, state: bytes, at_ns: int, *, pure: bool) -> None:
        """Be as then, and from now on tell nobody until `land`. What was chosen on the page since the start goes on to hold."""
        self._hub.quiet = True
        self._telling.restore(state)
        self._time.note(at_ns)
        for event in self._chosen.since(self.opened_with, at_ns) if pure else ():
            self._take(event)

    @property
    def is_heard(self) -> bool:
        """Whether the pages are told of what happens."""
        return not self._hub.quiet

    def be_heard(self) -> None:
        """Tell the pages again, who know already that it begins anew."""
        self._hub.quiet = False

    def be_quiet(self) -> None:
        """Go on from here, and tell nobody until `land`."""
        self._hub.quiet = True

    def land(self, view: ReplayView) -> None:
        """Be heard again: everybody is greeted anew."""
        self._hub.quiet = False
        self._hub.present.ended = False
        self._hub.present.replay = view
        self._hub.renew()
        self._telling.show_again()
        self._sensors_changed()

    def show(self, view: ReplayView) -> None:
        """Tell how the playing stands."""
        self._hub.publish(ReplayMessage(replay=view))

    def show_timeline(self, timeline: ReplayTimelineMessage) -> None:
        """Tell what is in the recording, as far as it is known."""
        self._hub.publish(timeline)

    def end(self, *, again: bool) -> None:
        """There is nothing more in it; `again`: it starts over."""
        self._telling.hush()
        self._hub.publish(EndMessage(again=again))
