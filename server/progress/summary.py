"""A player's progress, drill by drill: each day's figures by the way of swinging, the trend of each, and what was left later."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from server.progress.points import DrillKey, RepPoint, Swung, Way, by_drill
from server.progress.retention import Retention, retentions
from server.progress.sample import ENOUGH_REPS, Sample, sample
from server.progress.trend import Trend, trend


@dataclass(frozen=True, slots=True, kw_only=True)
class DayFigures:
    """One day in one way."""

    day: str
    sample: Sample


@dataclass(frozen=True, slots=True, kw_only=True)
class WayFigures:
    """All days in one way, in order, and how they move."""

    way: Way
    days: tuple[DayFigures, ...]
    trend: Trend


@dataclass(frozen=True, slots=True, kw_only=True)
class DrillProgress:
    """One drill. `ways` has those in which it was swung."""

    drill: DrillKey
    ways: tuple[WayFigures, ...]
    retentions: tuple[Retention, ...]

    @property
    def last_day(self) -> str:
        """When it was practised last."""
        return max(figures.days[-1].day for figures in self.ways)


def progress(points: Iterable[RepPoint]) -> tuple[DrillProgress, ...]:
    """Sum up one player's reps, the drill practised last in front."""
    found = [_drill(drill, swung) for drill, swung in by_drill(points).items()]
    return tuple(sorted(found, key=lambda one: (one.last_day, one.drill.name), reverse=True))


def _drill(drill: DrillKey, swung: tuple[Swung, ...]) -> DrillProgress:
    used = [way for way in Way if any(one.way is way for one in swung)]
    return DrillProgress(
        drill=drill, ways=tuple(_figures(way, swung) for way in used), retentions=retentions(swung)
    )  # fmt: skip


def _figures(way: Way, swung: tuple[Swung, ...]) -> WayFigures:
    by_day: defaultdict[str, list[RepPoint]] = defaultdict(list)
    for one in swung:
        if one.way is way:
            by_day[one.point.day].append(one.point)
    days = tuple(DayFigures(day=day, sample=sample(by_day[day])) for day in sorted(by_day))
    counting = [
        (date.fromisoformat(one.day).toordinal(), one.sample.median)
        for one in days
        if one.sample.median is not None and one.sample.n_judged >= ENOUGH_REPS
    ]
    return WayFigures(way=way, days=days, trend=trend(counting))
