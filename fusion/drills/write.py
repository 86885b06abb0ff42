"""A drill as the text that `parse.py` reads."""

from __future__ import annotations

import json

from fusion.drills.drill import Drill
from fusion.drills.parse import MARKS, QUANTITIES, SUFFIXES
from fusion.drills.quantity import Quantity


def text_of(drill: Drill) -> str:
    """Write it; numbers to a millionth of their unit."""
    name, origin = name_and_origin(drill.quantity)
    lines = [
        f"{key} = {_quoted(value)}" for key, value in (("name", drill.name), ("aim", drill.aim), ("feel", drill.feel))
    ]
    lines.append(f"quantity = {_quoted(name)}")
    if origin is not None:
        lines.append(f"counted_from = {_quoted(origin)}")
    marks = marks_of(drill)
    if marks is not None:
        lines += [f"from = {_quoted(marks[0])}", f"to = {_quoted(marks[1])}"]
    unit = drill.quantity.unit
    numbers: list[tuple[str, float]] = [("low", drill.low), ("high", drill.high)]
    if not drill.quantity.at_end:
        numbers.append(("hysteresis", drill.hysteresis))
    if drill.warn is not None:
        numbers.append(("warn", drill.warn))
    lines += [f"{key}{SUFFIXES[unit]} = {round(unit.shown(value), 6)!r}" for key, value in numbers]
    for block in drill.blocks:
        lines += ["", "[[blocks]]", f"reps = {block.n_reps}", f"cue = {_quoted(block.cue)}"]
    return "\n".join(lines) + "\n"


def name_and_origin(quantity: Quantity) -> tuple[str, str | None]:
    """What a file calls a quantity, and from where it is counted."""
    return next(names for names, one in QUANTITIES.items() if one is quantity)


def marks_of(drill: Drill) -> tuple[str, str] | None:
    """The marks between which it counts; None for a quantity of the whole swing."""
    if not drill.phases:
        return None
    marks = list(MARKS)
    first, last = (
        next(mark for mark, phase in MARKS.items() if phase is one) for one in (drill.phases[0], drill.phases[-1])
    )
    return first, marks[marks.index(last) + 1]


def _quoted(text: str) -> str:
    """A TOML basic string. JSON's has the same escapes, but for DEL, which no printable line holds."""
    return json.dumps(text, ensure_ascii=False)
