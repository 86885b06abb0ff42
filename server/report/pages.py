"""Lays a report out on two sheets of A4 and writes them as PDF."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any, Final

from matplotlib import rc_context
from matplotlib.backends.backend_pdf import PdfPages
from matplotlib.figure import Figure

from sensors.ids import Side
from server.export.motion import SwingMotion
from server.report.figures import (
    DOWN_THE_LINE,
    FACE_ON,
    INK,
    SHAPES_TOLD,
    draw_bend,
    draw_path,
    draw_pitch,
    draw_strip,
    draw_swing,
)
from server.report.gather import MARKS, Lesson
from server.report.lines import lines_of
from server.report.numbers import share, table

_A4_IN: Final = (8.27, 11.69)
_STYLE: Final[dict[Any, Any]] = {
    "font.size": 9.0,
    "text.color": INK,
    "axes.edgecolor": INK,
    "axes.labelcolor": INK,
    "xtick.color": INK,
    "ytick.color": INK,
    "text.parse_math": False,
    "pdf.fonttype": 42,  # TrueType: names in any script that the font has can be copied out
}
_LEFT, _WIDTH = 0.1, 0.8
_LINE: Final = 0.0165
_PT_PER_INCH: Final = 72
_SCALE: Final = 0.07
"""So much of the width the numbers beside a picture and its name take: printers leave the outermost 5 mm white."""
_LOWEST: Final = 0.07
"""A note ends above it: there is room for one line more, and for what stands at the foot."""
_SURE: Final = (
    "Each figure, in degrees but for the butt line: the middle of the reps (the middle half of them) ± one standard deviation of "
    "a single value. "
    "Bend since address leads: the straight wrist itself is known no better than the pose it was measured in. "
    "Pitch is seen in the plane of the shaft at address, not along the target line. "
    "The butt line is where the shaft's line meets the ground, from the ball line, + toward the player: a model's estimate. "
    "Lines: every rep grey, their mean black; shaded, the drill's band."
)
_CAUTION: Final = (
    "A practice aid, not medical advice. Stop when it hurts. Swing only where there is room and nobody near. "
    "Follow the rules of the place."
)


def write_report(place: Path, lesson: Lesson) -> None:
    """Write the PDF. `lesson` has at least one rep. Raises OSError when the disk fails."""
    title = " · ".join(part for part in (lesson.player, lesson.club, lesson.day) if part)
    about = {"Title": f"Pitchbend: {title}", "Creator": "Pitchbend"}
    with rc_context(_STYLE), PdfPages(place, metadata=about) as pdf:
        pdf.savefig(_first(lesson, title))
        pdf.savefig(_second(lesson, title))


def _first(lesson: Lesson, title: str) -> Figure:
    sheet = Figure(figsize=_A4_IN)
    y = _text(sheet, 0.945, title or "A practice", size=17, smaller=11, weight="bold")
    y = _text(sheet, y - 0.012, "One thing to change", size=9, weight="bold")
    answer, drill = lesson.answer, lesson.drill
    if answer is not None:
        y = _text(sheet, y, answer.priority, size=14, smaller=10)
        y = _text(sheet, y, f"says {answer.author}")
    else:
        y = _text(sheet, y, drill.aim or drill.name, size=14, smaller=10)
    prescribed = drill if answer is None or answer.drill is None else answer.drill
    y = _text(sheet, y - 0.008, f"To practise: {prescribed.name}. {prescribed.feel}".rstrip())
    shares = ";\n".join(share(lesson.reps, cued=cued) for cued in (True, False))
    y = _text(sheet, y - 0.012, f"{drill.name}: {shares}", size=11)
    draw_strip(sheet.add_axes((_LEFT, y - 0.055, _WIDTH, 0.04)), lesson.reps)
    y = _text(sheet, y - 0.1, SHAPES_TOLD, size=7.5)
    y = _table(sheet, y - 0.012, table(lesson.reps, lesson.units))
    y = _text(sheet, y - 0.004, _SURE, size=7.5)
    draw_bend(sheet.add_axes((_LEFT + _SCALE, 0.085, _WIDTH - _SCALE, max(0.12, y - 0.11))), lesson.traces, drill)
    _text(sheet, 0.04, _CAUTION, size=7)
    return sheet


def _second(lesson: Lesson, title: str) -> Figure:
    sheet = Figure(figsize=_A4_IN)
    _text(sheet, 0.955, title, size=9)
    draw_pitch(sheet.add_axes((_LEFT + _SCALE, 0.72, 0.4, 0.2)), lesson.traces, lesson.drill)
    draw_path(sheet.add_axes((_LEFT + _SCALE + 0.48, 0.72, 0.25, 0.2)), lesson.traces)
    y = 0.66
    if lesson.middle is not None:
        rep = lesson.middle.rep
        told = f"Rep {rep.index}, whose bend at the top is the middle one. Lengths are those of a common arm and club."
        y = _text(sheet, y, told, size=8)
        y = _drawings(sheet, y - 0.01, lesson.middle, lesson.lead_side)
    if lesson.answer is not None and lesson.answer.notes:
        y = _text(sheet, y, "Notes", size=9, weight="bold")
        notes = lesson.answer.notes
        for n_told, note in enumerate(notes):
            at = "" if note.after_takeaway_s is None else f", {note.after_takeaway_s:.2f} s after takeaway"
            told = f"Rep {note.rep}{at}: {note.text}"
            if y - len(_lines(told)) * _LINE < _LOWEST:
                _text(sheet, y, f"{len(notes) - n_told} more are in the recording.")
                break
            y = _text(sheet, y, told)
    _text(sheet, 0.04, _CAUTION, size=7)
    return sheet


def _drawings(sheet: Figure, y: float, motion: SwingMotion, lead_side: Side) -> float:
    """A row for each view, a column for each mark."""
    for column, name in enumerate(MARKS.values()):
        sheet.text(_LEFT + 0.11 + column * 0.235 + 0.11, y, name, fontsize=8.5, ha="center", va="top")
    for view in (FACE_ON, DOWN_THE_LINE):
        y -= 0.17
        sheet.text(_LEFT, y + 0.075, view, fontsize=8.5, va="center")
        for column, phase in enumerate(MARKS):
            axes = sheet.add_axes((_LEFT + 0.11 + column * 0.235, y, 0.22, 0.15))
            draw_swing(axes, motion, phase, view, lead_side)
    return y - 0.03


def _text(
    sheet: Figure, y: float, text: str, *, size: float = 9.0, smaller: float = 0.0, weight: str = "normal"
) -> float:
    """Write lines from `y` down, `smaller` if they would be more than two; gives where the next ones go."""
    lines = _lines(text, size, weight)
    if smaller and len(lines) > 2:
        lines, size = _lines(text, smaller, weight), smaller
    for line in lines:
        sheet.text(_LEFT, y, line, fontsize=size, fontweight=weight, va="top")
        y -= _LINE * size / 9.0
    return y


def _lines(text: str, size: float = 9.0, weight: str = "normal") -> list[str]:
    return lines_of(text, size=size, weight=weight, width_pt=_WIDTH * _A4_IN[0] * _PT_PER_INCH)


def _table(sheet: Figure, y: float, rows: Sequence[Sequence[str]]) -> float:
    columns = (0.0, 0.215, 0.415, 0.615)
    for x, name in zip(columns, ("", *MARKS.values()), strict=True):
        sheet.text(_LEFT + x, y, name, fontsize=8.5, fontweight="bold", va="top")
    for row in rows:
        y -= 0.019
        for x, cell in zip(columns, row, strict=True):
            sheet.text(_LEFT + x, y, cell, fontsize=8, va="top")
    return y - 0.026
