"""What was marked, noted and said in a practice, for the terminal."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from sensors.events import MessageSaid, NoteWritten, RepMark, RepMarked
from sensors.record.summary import Remark
from server.analysis.remarks import marks_of
from server.cli.tables import minutes

_MARKS: Final = {RepMark.GOOD: "Marked good", RepMark.LOOK: "To look at again"}


def remark_sentences(remarks: Sequence[Remark]) -> list[str]:
    """Say which reps are marked, then what was noted and said, in order of time."""
    marks = marks_of(remarks)
    out = []
    for mark, words in _MARKS.items():
        reps = sorted(rep for rep, one in marks.items() if one is mark)
        if reps:
            out.append(f"{words}: {'rep' if len(reps) == 1 else 'reps'} {', '.join(map(str, reps))}.")
    return out + [sentence for remark in remarks if (sentence := _sentence(remark))]


def _sentence(remark: Remark) -> str:
    match remark.event:
        case NoteWritten(text=text, rep=rep, by=by):
            about = f"on rep {rep}" if rep else "on the practice"
            return f"{minutes(remark.at_s)} {_who(by)} {about}: {text}"
        case MessageSaid(text=text, by=by):
            return f"{minutes(remark.at_s)} {_who(by)} to the student: {text}"
        case RepMarked():
            return ""


def _who(by: str) -> str:
    return by or "somebody"
