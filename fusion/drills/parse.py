"""A drill from its text: TOML, so that a coach can write one, and a recording can hold the one that was in force.

`shared/drills/README.md` is the form. Everything is checked: a drill with a slip in it would cue the wrong thing.
"""

from __future__ import annotations

from typing import Final

from fusion.drills.course import Block, CueShare
from fusion.drills.drill import Drill
from fusion.drills.quantity import Quantity, Unit, least_band
from fusion.outputs.instant import Phase
from sensors.profiles.toml_lines import TomlPath
from sensors.profiles.toml_table import Table

MAX_TEXT: Final = 20_000
MAX_BLOCKS: Final = 20
MAX_REPS: Final = 200
LONGEST: Final = {"name": 60, "aim": 200, "feel": 300}
HYSTERESIS_DEG: Final = 1.5

MARKS: Final = {
    "takeaway": Phase.TAKEAWAY,
    "shaft_level": Phase.SHAFT_LEVEL,
    "lead_arm_level": Phase.ARM_LEVEL,
    "top": Phase.TOP,
    "down": None,
}
"""The marks of the way back, in order, each with the phase that it begins."""
QUANTITIES: Final = {
    ("bend", "address"): Quantity.BEND_CHANGE,
    ("bend", "straight_wrist"): Quantity.BEND,
    ("shaft_pitch", None): Quantity.SHAFT_PITCH,
    ("face_twist", None): Quantity.FACE_TWIST,
    ("roll", None): Quantity.ROLL_CHANGE,
    ("arm_length", None): Quantity.ARM_LENGTH,
    ("shaft_length", None): Quantity.SHAFT_LENGTH,
    ("backswing_time", None): Quantity.BACKSWING_TIME,
    ("tempo", None): Quantity.TEMPO,
}
"""What a file calls each, and from where it is counted."""
SUFFIXES: Final = {Unit.DEG: "_deg", Unit.S: "_s", Unit.RATIO: ""}
"""How the keys of the band end: `low_deg`, `low_s`, `low`."""
_LARGEST: Final = {Unit.DEG: 360.0, Unit.S: 10.0, Unit.RATIO: 20.0}


class DrillInvalid(Exception):
    """The text is no drill. `line` counts from 1; None when the fault has no place of its own; `key` is what it is about."""

    def __init__(self, problem: str, line: int | None = None, key: TomlPath = ()) -> None:
        self.problem = problem
        self.line = line
        self.key = key
        super().__init__(f"line {line}: {problem}" if line else problem)


def drill_from(text: str) -> Drill:
    """Read a drill. Raises `DrillInvalid`, with what is wrong, what is allowed, and where."""
    if len(text) > MAX_TEXT:
        raise DrillInvalid(f"longer than {MAX_TEXT} characters")
    table = Table.of(text, DrillInvalid)
    name, aim, feel = (_words(table, key) for key in ("name", "aim", "feel"))
    quantity = _quantity(table)
    low, high, hysteresis, warn = _band(table, quantity)
    drill = Drill(
        name=name,
        aim=aim,
        feel=feel,
        quantity=quantity,
        phases=() if quantity.at_end else _phases(table),
        low=low,
        high=high,
        hysteresis=hysteresis,
        warn=warn,
        blocks=tuple(_block(block) for block in _blocks(table)),
    )
    if quantity.at_end:
        for key in ("from", "to"):
            if key in table:
                raise table.error(f"{_name_of(quantity)} is of the whole swing; leave {key} out", key)
    table.done()
    return drill


def _name_of(quantity: Quantity) -> str:
    return next(name for (name, _), one in QUANTITIES.items() if one is quantity)


def _words(table: Table, key: str) -> str:
    value: str = table.text(key)
    if not value.strip() or len(value) > LONGEST[key] or not value.isprintable():
        raise table.error(f"{key} must be a line of 1 to {LONGEST[key]} characters", key)
    return value


def _quantity(table: Table) -> Quantity:
    name = table.choice("quantity", sorted({name for name, _ in QUANTITIES}))
    origins = [origin for quantity, origin in QUANTITIES if quantity == name and origin is not None]
    if origins:
        return QUANTITIES[name, table.choice("counted_from", origins)]
    if "counted_from" in table:
        raise table.error(f"{name} is always counted the same way; leave counted_from out", "counted_from")
    return QUANTITIES[name, None]


def _band(table: Table, quantity: Quantity) -> tuple[float, float, float, float | None]:
    """Low and high edge, hysteresis and margin of warning, as the drill has them inside."""
    unit = quantity.unit
    low_key, high_key, hysteresis_key, warn_key = (
        f"{name}{SUFFIXES[unit]}" for name in ("low", "high", "hysteresis", "warn")
    )
    largest = _LARGEST[unit]
    low, high = table.number(low_key, -largest, largest), table.number(high_key, -largest, largest)
    least = least_band(quantity)
    if high - low < least:
        problem = f"the band is {high - low:g}{unit.words} wide; the least is {least:g}{unit.words}, twice this quantity's error"
        raise table.error(problem, high_key)
    if quantity.at_end:
        return unit.inside(low), unit.inside(high), 0.0, None
    half = (high - low) / 2
    hysteresis = table.number(hysteresis_key, 0, half, min(HYSTERESIS_DEG, half))
    warn = table.number(warn_key, 0, half, None)
    if warn is not None and not 0 < warn <= half - hysteresis:
        problem = (
            f"{warn_key} must be more than 0 and at most {half - hysteresis:g}: half the band without the hysteresis"
        )
        raise table.error(problem, warn_key)
    return unit.inside(low), unit.inside(high), unit.inside(hysteresis), None if warn is None else unit.inside(warn)


def _phases(table: Table) -> tuple[Phase, ...]:
    marks = list(MARKS)
    first = marks.index(table.choice("from", marks[:-1]))
    last = marks.index(table.choice("to", marks[first + 1 :]))
    return tuple(phase for mark in marks[first:last] if (phase := MARKS[mark]) is not None)


def _blocks(table: Table) -> tuple[Table, ...]:
    blocks = table.tables("blocks", optional=True)
    if len(blocks) > MAX_BLOCKS:
        raise table.error(f"there are {len(blocks)} blocks; at most {MAX_BLOCKS} are allowed", "blocks")
    return blocks


def _block(table: Table) -> Block:
    block = Block(
        n_reps=table.integer("reps", 1, MAX_REPS),
        cue=CueShare(table.choice("cue", [share.value for share in CueShare])),
    )
    table.done()
    return block
