"""Tells pages and terminal of the disk's troubles as they come and go; the recorder itself is elsewhere and waits for nobody."""

from __future__ import annotations

from collections.abc import Callable

from server.hub import Hub
from server.tape import Tape
from server.tape_advice import tape_problems
from server.wire import ProblemMessage


class TapeNews:
    """Of one practice's recording."""

    def __init__(self, tape: Tape, tell: Callable[[str], None] = lambda _: None) -> None:
        self._tape = tape
        self._tell = tell
        self._told: dict[str, str] = {}

    @property
    def recording(self) -> str | None:
        """Where it is being recorded now; None for nowhere."""
        path = self._tape.status.path
        return None if path is None else str(path)

    def look(self, hub: Hub) -> None:
        """Tell what is new."""
        recording, problems = self.recording, tape_problems(self._tape.status)
        present = hub.present
        over = [code for code in self._told if code not in problems]
        was_shown = [code for code in over if present.solved(code)]
        if recording != present.recording or was_shown:
            present.recording = recording
            hub.renew()
        for code, text in problems.items():
            if self._told.get(code) != text:
                hub.publish(ProblemMessage(code=code, text=text))
                self._tell(text)
        self._told = problems
