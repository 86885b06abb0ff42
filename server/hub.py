"""Passes every message on to every client, encoded once. A client that stalls holds up nobody."""

from __future__ import annotations

from collections.abc import Callable

from server.mailbox import MAX_EVENTS, Mailbox
from server.present import Present
from server.wire import FrameMessage, SensorsMessage, ServerMessage
from server.wire_choosing import ChoosingMessage
from server.wire_replay import ReplayMessage, ReplayTimelineMessage


class Hub:
    """`join` gives a mailbox that opens with the present state; `publish` never waits."""

    def __init__(self, present: Present, *, max_events: int = MAX_EVENTS) -> None:
        self.present = present
        self.n_joined = 0
        self.n_overflowed = 0
        """Clients given up because they did not take their events."""
        self.quiet = False
        """While it is so, nobody is told of anything: what is published is only remembered for those to come."""
        self._max_events = max_events
        self._mailboxes: dict[Mailbox, None] = {}
        self._listeners: list[Callable[[ServerMessage], None]] = []

    @property
    def mailboxes(self) -> tuple[Mailbox, ...]:
        """Those of the present clients, oldest first."""
        return tuple(self._mailboxes)

    def join(self) -> Mailbox:
        """Let a client in."""
        mailbox = Mailbox(max_events=self._max_events)
        for message in (*self.present.opening(), *self.present.at_joining()):
            mailbox.put_event(encode(message))
        self._mailboxes[mailbox] = None
        self.n_joined += 1
        return mailbox

    def adopt(self, mailbox: Mailbox) -> None:
        """Let a client in that has a mailbox already, and greet it with the next `renew`."""
        self._mailboxes[mailbox] = None
        self.n_joined += 1

    def leave(self, mailbox: Mailbox) -> None:
        """Forget a client."""
        del self._mailboxes[mailbox]
        self.n_overflowed += mailbox.overflowed.is_set()

    def listen(self, listener: Callable[[ServerMessage], None]) -> None:
        """Tell a part of this program, too, of everything that clients are told. It must be quick, and must not publish."""
        self._listeners.append(listener)

    def publish(self, message: ServerMessage) -> None:
        """Tell all clients, and remember it for those to come."""
        self.present.note(message)
        if self.quiet:
            return
        for listener in self._listeners:
            listener(message)
        if not self._mailboxes:
            return
        text = encode(message)
        for mailbox in self._mailboxes:
            match message:
                case FrameMessage():
                    mailbox.put_frame(message.seq, text)
                case SensorsMessage() | ChoosingMessage() | ReplayMessage() | ReplayTimelineMessage():
                    mailbox.put_newest(message.type, text)
                case _:
                    mailbox.put_event(text)

    def renew(self) -> None:
        """Greet all clients anew, after a change that has no message of its own."""
        if self.quiet:
            return
        opening = self.present.opening() if self._mailboxes or self._listeners else ()
        for message in opening:
            for listener in self._listeners:
                listener(message)
        if self._mailboxes:
            texts = [encode(message) for message in opening]
            for mailbox in self._mailboxes:
                for text in texts:
                    mailbox.put_event(text)


def encode(message: ServerMessage) -> str:
    """Write a message as it goes over the socket."""
    return message.model_dump_json()
