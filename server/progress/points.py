"""What is looked at: a rep, the drill it was judged by, and in which way it was swung.

Rule 1: reps are compared only where quantity, band and part of the swing were the same: another band is another drill.
Rule 2: what was reached with the cue, between cued reps, in a test and the next day is never mixed.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from fusion.outputs.rep import Verdict
from server.store.records import RepKind

DAY_FORMAT: Final = "%Y-%m-%d"


class Way(StrEnum):
    """How a rep was swung."""

    CUED = "cued"
    SILENT = "silent"
    """Without the cue, between cued reps or after the last block."""
    TEST = "test"
    """In a test on a day on which the drill had been cued before it."""
    NEXT_DAY = "next_day"
    """In a test with which the day began for this drill, after an earlier day with the cue."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DrillKey:
    """What makes reps comparable. `low` and `high` are in `unit`."""

    name: str
    quantity: str
    unit: str
    low: float
    high: float
    from_mark: str | None
    to_mark: str | None
    """Between which marks it counts; None for a quantity of the whole swing."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RepPoint:
    """One rep. Paused ones are none."""

    practice: str
    day: str
    """Of the practice, where it was swung: ISO 8601."""
    begun_unix_s: float
    ended_unix_s: float
    """Of the practice."""
    number: int
    """In its practice."""
    drill: DrillKey
    stint: int
    block: int | None
    block_reps: int
    """Reps that its block asks for; 0 without a block."""
    kind: RepKind
    verdict: str
    worst: float | None
    """The drill's quantity at its worst moment, in the drill's unit."""

    @property
    def judged(self) -> bool:
        """Its angles could be trusted."""
        return self.verdict != Verdict.UNKNOWN.value

    @property
    def in_band(self) -> bool:
        """It stayed in the band."""
        return self.verdict == Verdict.IN_BAND.value


@dataclass(frozen=True, slots=True)
class Swung:
    """A rep and its way."""

    point: RepPoint
    way: Way


def by_drill(points: Iterable[RepPoint]) -> dict[DrillKey, tuple[Swung, ...]]:
    """Sort reps by their drill, each with its way."""
    drills: defaultdict[DrillKey, list[RepPoint]] = defaultdict(list)
    for point in points:
        drills[point.drill].append(point)
    return {drill: ways(its) for drill, its in drills.items()}


def ways(points: Iterable[RepPoint]) -> tuple[Swung, ...]:
    """Tell the way of each rep of one drill, in order of time."""
    ordered = sorted(points, key=lambda point: (point.begun_unix_s, point.practice, point.number))
    cued_on: set[str] = set()
    out: list[Swung] = []
    for point in ordered:
        if point.kind is RepKind.CUED:
            cued_on.add(point.day)
        out.append(Swung(point, _way(point, cued_on)))
    return tuple(out)


def _way(point: RepPoint, cued_on: set[str]) -> Way:
    if point.kind is not RepKind.TEST:
        return Way(point.kind.value)
    next_day = point.day not in cued_on and any(day < point.day for day in cued_on)
    return Way.NEXT_DAY if next_day else Way.TEST
