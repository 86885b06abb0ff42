"""Whether a test of an earlier day's drill is due: one silent block, before anything of that drill is cued again.

Rule 1: it is due after a day on which the drill was cued and its test was swung to the end, and until such a test is swung.
Rule 2: the next day is another date on the calendar where the player is, and a night later: midnight alone makes no next day.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Final

from fusion.drills.course import Block, CueShare
from fusion.drills.parse import DrillInvalid, drill_from
from fusion.drills.write import text_of
from server.progress.points import DrillKey, RepPoint, Swung, Way, by_drill
from server.progress.retention import Before, before, last_cued_day
from server.store.records import RepKind

NIGHT_S: Final = 6 * 3600.0
"""Shorter than a night's rest, longer than a break. A proposal."""
MOST_DAYS: Final = 14
"""Later it is no longer offered: what would be measured is how one forgets, not what was learnt that day. A proposal."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Retest:
    """A test that may be swung now."""

    drill: DrillKey
    text: str
    """The drill with nothing but the silent block, as a drill's file has it."""
    n_reps: int
    days_since: int
    """Since the day it was practised; one: it is due today, more: overdue."""
    before: Before


def retests(points: Iterable[RepPoint], texts: Mapping[DrillKey, str], now: datetime) -> tuple[Retest, ...]:
    """Give those that are due, the drill practised last in front. `now` is the time where the player is, with its zone."""
    found = [_due(drill, swung, texts.get(drill, ""), now) for drill, swung in by_drill(points).items()]
    return tuple(sorted((one for one in found if one is not None), key=lambda one: one.before.day, reverse=True))


def _due(drill: DrillKey, swung: Sequence[Swung], text: str, now: datetime) -> Retest | None:
    today = now.date().isoformat()
    last = last_cued_day(swung, before=today)
    tested = _finished(swung, Way.TEST)
    if last is None or not tested or any(one.way is Way.CUED and one.point.day >= today for one in swung):
        return None
    again = _finished(swung, Way.NEXT_DAY)
    if again and max(again)[0] > max(tested)[0]:
        return None
    days_since = (now.date() - date.fromisoformat(last)).days
    ended_s = max(one.point.ended_unix_s for one in swung if one.point.day == last)
    if days_since > MOST_DAYS or now.timestamp() - ended_s < NIGHT_S:
        return None
    n_reps = max(tested)[1]
    only = test_only(text, n_reps)
    if only is None:
        return None
    return Retest(drill=drill, text=only, n_reps=n_reps, days_since=days_since, before=before(swung, last))


def test_only(text: str, n_reps: int) -> str | None:
    """Write a drill with one silent block and nothing else; None when the text is no drill."""
    try:
        drill = drill_from(text)
    except DrillInvalid:
        return None
    return text_of(replace(drill, blocks=(Block(n_reps=n_reps, cue=CueShare.NONE),)))


def _finished(swung: Sequence[Swung], way: Way) -> list[tuple[str, int]]:
    """Day and size of each test block that was swung to its end."""
    counts: Counter[tuple[str, int, str, int, int | None]] = Counter(
        (one.point.day, one.point.block_reps, one.point.practice, one.point.stint, one.point.block)
        for one in swung
        if one.way is way and one.point.kind is RepKind.TEST
    )
    return [(block[0], block[1]) for block, n in counts.items() if block[1] and n >= block[1]]
