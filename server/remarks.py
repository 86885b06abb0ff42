"""What is marked, noted and said in a practice: what may be, and how the pages are told of it.

The events of the stream are what counts. A page is told when its own word comes back out of the stream, live or replayed.
"""

from __future__ import annotations

from typing import Final

from sensors.events import MessageSaid, NoteWritten, RepMarked
from server.hub import Hub
from server.wire import ProblemMessage
from server.wire_lesson import (
    MarkRepMessage,
    NoteMessage,
    RepMarkMessage,
    SaidMessage,
    SayMessage,
    WriteNoteMessage,
)

MAX_NOTE: Final = 500
MAX_SAID: Final = 160
"""Characters that can be read at a glance from three metres, in large type on a phone."""
_JOINERS: Final = "\u200c\u200d"
"""Not printable by themselves, and part of words and pictures in some scripts."""

Remark = RepMarked | NoteWritten | MessageSaid


class Remarks:
    """Of one practice."""

    def __init__(self, hub: Hub) -> None:
        self._hub = hub
        self._n_notes = 0
        self._n_said = 0

    @property
    def counts(self) -> tuple[int, int]:
        """Notes and messages so far."""
        return self._n_notes, self._n_said

    @counts.setter
    def counts(self, counts: tuple[int, int]) -> None:
        self._n_notes, self._n_said = counts

    def event_of(
        self, message: MarkRepMessage | WriteNoteMessage | SayMessage, *, by: str, arrival_ns: int
    ) -> Remark | ProblemMessage:
        """Make the event of what somebody wants to add; gives the reason when that cannot be."""
        match message:
            case MarkRepMessage():
                return self._missing(message.rep) or RepMarked(
                    arrival_ns=arrival_ns, rep=message.rep, mark=message.mark, by=by
                )
            case WriteNoteMessage():
                text = one_line(message.text)
                missing = None if message.rep is None else self._missing(message.rep)
                return (
                    missing
                    or _bad_text(text, MAX_NOTE)
                    or NoteWritten(arrival_ns=arrival_ns, text=text, rep=message.rep or 0, by=by)
                )
            case SayMessage():
                text = one_line(message.text)
                return _bad_text(text, MAX_SAID) or MessageSaid(arrival_ns=arrival_ns, text=text, by=by)

    def show(self, event: Remark, t_s: float) -> None:
        """Tell the pages; `t_s` is the newest instant."""
        match event:
            case RepMarked():
                self._hub.publish(RepMarkMessage(rep=event.rep, mark=event.mark, by=event.by))
            case NoteWritten():
                self._n_notes += 1
                self._hub.publish(
                    NoteMessage(id=self._n_notes, t_s=t_s, text=event.text, rep=event.rep or None, by=event.by)
                )
            case MessageSaid():
                self._n_said += 1
                self._hub.publish(SaidMessage(id=self._n_said, t_s=t_s, text=event.text, by=event.by))

    def _missing(self, rep: int) -> ProblemMessage | None:
        newest = self._hub.present.newest_rep
        if rep <= newest:
            return None
        has = f"The newest is rep {newest}." if newest else "No rep has been swung yet."
        return ProblemMessage(code="no_such_rep", text=f"There is no rep {rep} in this practice. {has}")


def one_line(text: str) -> str:
    """Make one line of a text, with single spaces."""
    return " ".join(text.split())


def _bad_text(text: str, longest: int) -> ProblemMessage | None:
    if not text:
        return ProblemMessage(code="text_refused", text="There was nothing to send: write a word or two first.")
    if len(text) > longest:
        over = f"It has {len(text)} characters, and {longest} is the most. Shorten it, or send it in two parts."
        return ProblemMessage(code="text_refused", text=over)
    if not all(letter.isprintable() or letter in _JOINERS for letter in text):
        odd = "It holds characters that cannot be shown. Type it instead of pasting it."
        return ProblemMessage(code="text_refused", text=odd)
    return None
