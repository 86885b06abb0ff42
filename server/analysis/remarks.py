"""What was marked and noted of each rep."""

from __future__ import annotations

from collections.abc import Sequence

from sensors.events import NoteWritten, RepMark, RepMarked
from sensors.record.summary import Remark


def marks_of(remarks: Sequence[Remark]) -> dict[int, RepMark]:
    """Give the mark that each rep has in the end; a rep without one is missing."""
    marks: dict[int, RepMark] = {}
    for remark in remarks:
        if isinstance(remark.event, RepMarked):
            marks[remark.event.rep] = remark.event.mark
    return {rep: mark for rep, mark in marks.items() if mark is not RepMark.NONE}


def notes_of(remarks: Sequence[Remark], rep: int) -> list[str]:
    """Give what was noted of one rep, oldest first."""
    return [one.event.text for one in remarks if isinstance(one.event, NoteWritten) and one.event.rep == rep]
