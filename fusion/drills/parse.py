"""A drill from its text: TOML, so that a coach can write one, and a recording can hold the one that was in force.

`shared/drills/README.md` is the form. Everything is checked: a drill with a slip in it would cue the wrong thing.
"""

from __future__ import annotations

import math
import tomllib
from collections.abc import Mapping
from typing import Any, Final, NoReturn

from fusion.drills.course import Block, CueShare
from fusion.drills.drill import STATED_ERROR_DEG, Drill, Quantity
from fusion.outputs import Phase
from sensors.profiles.toml_lines import lines_of

MAX_TEXT: Final = 20_000
MAX_BLOCKS: Final = 20
MAX_REPS: Final = 200
HYSTERESIS_DEG: Final = 1.5

_MARKS: Final = {
    "takeaway": Phase.TAKEAWAY,
    "shaft_level": Phase.SHAFT_LEVEL,
    "lead_arm_level": Phase.ARM_LEVEL,
    "top": Phase.TOP,
    "down": None,
}
"""The marks of the way back, in order, each with the phase that it begins."""
_QUANTITIES: Final = {
    ("bend", "address"): Quantity.BEND_CHANGE,
    ("bend", "straight_wrist"): Quantity.BEND,
    ("shaft_pitch", None): Quantity.SHAFT_PITCH,
    ("face_twist", None): Quantity.FACE_TWIST,
    ("roll", None): Quantity.ROLL_CHANGE,
}
_KEYS: Final = frozenset(
    ("name", "aim", "feel", "quantity", "counted_from", "from", "to", "low_deg", "high_deg", "hysteresis_deg", "blocks")
)


class DrillInvalid(Exception):
    """The text is no drill. `line` counts from 1; None when the fault has no place of its own."""

    def __init__(self, problem: str, line: int | None = None) -> None:
        self.problem = problem
        self.line = line
        super().__init__(f"line {line}: {problem}" if line else problem)


def drill_from(text: str) -> Drill:
    """Read a drill. Raises `DrillInvalid`, with what is wrong, what is allowed, and where."""
    if len(text) > MAX_TEXT:
        raise DrillInvalid(f"longer than {MAX_TEXT} characters")
    try:
        table = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise DrillInvalid(f"not TOML: {error}") from error
    except RecursionError as error:
        raise DrillInvalid("nested too deeply") from error
    return _Reader(text, table).drill()


class _Reader:
    def __init__(self, text: str, table: Mapping[str, Any]) -> None:
        self._text = text
        self._table = table

    def drill(self) -> Drill:
        for key in self._table:
            if key not in _KEYS:
                self._fail(f"unknown key {key!r}; there are {', '.join(sorted(_KEYS))}", key)
        name, aim, feel = self._words("name", 60), self._words("aim", 200), self._words("feel", 300)
        quantity = self._quantity()
        low_deg, high_deg = self._number("low_deg"), self._number("high_deg")
        hysteresis_deg = self._number("hysteresis_deg", HYSTERESIS_DEG)
        least_deg = 2 * STATED_ERROR_DEG[quantity]
        if high_deg - low_deg < least_deg:
            self._fail(
                f"a band {high_deg - low_deg:g} deg wide; twice this quantity's error is {least_deg:g}", "high_deg"
            )
        if not 0 <= hysteresis_deg <= (high_deg - low_deg) / 2:
            self._fail("must lie between 0 and half the band", "hysteresis_deg")
        return Drill(
            name=name,
            aim=aim,
            feel=feel,
            quantity=quantity,
            phases=self._phases(),
            low_rad=math.radians(low_deg),
            high_rad=math.radians(high_deg),
            hysteresis_rad=math.radians(hysteresis_deg),
            blocks=self._blocks(),
        )

    def _quantity(self) -> Quantity:
        name = self._choice("quantity", sorted({name for name, _ in _QUANTITIES}))
        origins = [origin for quantity, origin in _QUANTITIES if quantity == name and origin is not None]
        if origins:
            return _QUANTITIES[name, self._choice("counted_from", origins)]
        if "counted_from" in self._table:
            self._fail(f"{name} is always counted the same way; leave this out", "counted_from")
        return _QUANTITIES[name, None]

    def _phases(self) -> tuple[Phase, ...]:
        marks = list(_MARKS)
        first = marks.index(self._choice("from", marks[:-1]))
        last = marks.index(self._choice("to", marks[first + 1 :]))
        return tuple(phase for mark in marks[first:last] if (phase := _MARKS[mark]) is not None)

    def _blocks(self) -> tuple[Block, ...]:
        blocks = self._table.get("blocks", [])
        if not isinstance(blocks, list) or len(blocks) > MAX_BLOCKS:
            self._fail(f"must be at most {MAX_BLOCKS} tables [[blocks]]", "blocks")
        out = []
        for i, block in enumerate(blocks):
            if not isinstance(block, dict) or set(block) != {"reps", "cue"}:
                self._fail("each block has reps and cue, and nothing else", "blocks", i)
            reps, cue = block["reps"], block["cue"]
            if isinstance(reps, bool) or not isinstance(reps, int) or not 1 <= reps <= MAX_REPS:
                self._fail(f"reps = {reps!r}; must be a whole number from 1 to {MAX_REPS}", "blocks", i, "reps")
            shares = [share.value for share in CueShare]
            if cue not in shares:
                self._fail(f"cue = {cue!r}; must be one of {', '.join(shares)}", "blocks", i, "cue")
            out.append(Block(n_reps=reps, cue=CueShare(cue)))
        return tuple(out)

    def _choice(self, key: str, allowed: list[str]) -> str:
        value = self._value(key)
        if not isinstance(value, str) or value not in allowed:
            self._fail(f"{key} = {value!r}; must be one of {', '.join(allowed)}", key)
        return value

    def _words(self, key: str, longest: int) -> str:
        value = self._value(key)
        if not isinstance(value, str) or not value.strip() or len(value) > longest or not value.isprintable():
            self._fail(f"must be a line of 1 to {longest} characters", key)
        return value

    def _number(self, key: str, default: float | None = None) -> float:
        if default is not None and key not in self._table:
            return default
        value = self._value(key)
        if isinstance(value, bool) or not isinstance(value, int | float) or not abs(value) <= 360:
            self._fail("must be a number of degrees from -360 to 360", key)
        return float(value)

    def _value(self, key: str) -> object:
        if key not in self._table:
            raise DrillInvalid(f"{key} is missing")
        return self._table[key]

    def _fail(self, problem: str, *path: str | int) -> NoReturn:
        raise DrillInvalid(problem, lines_of(self._text).get(path))
