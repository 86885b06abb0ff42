"""What is left of a practice the next day: a test with which a day begins, beside the last that was swung on the day before.

How one swings while the cue helps says little of what is learnt: that shows later, without help (Winstein & Schmidt 1990, J Exp
Psychol LMC 16:677-691; Cruz et al. 2018, Motricidade 14:107-114).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from itertools import groupby

from server.progress.points import RepPoint, Swung, Way
from server.progress.sample import ENOUGH_REPS, Sample, sample

_HELPED = (Way.CUED,)
_ALONE = (Way.SILENT, Way.TEST)


@dataclass(frozen=True, slots=True, kw_only=True)
class Before:
    """How the player swung at the end of a day with the cue. None where there was no such rep."""

    day: str
    cued: Sample | None
    silent: Sample | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Retention:
    """A test on a later day."""

    day: str
    days_between: int
    test: Sample
    before: Before


def retentions(swung: Sequence[Swung]) -> tuple[Retention, ...]:
    """Find them all, in order of time; of one drill."""
    out: list[Retention] = []
    for day in sorted({one.point.day for one in swung if one.way is Way.NEXT_DAY}):
        test = [one.point for one in swung if one.way is Way.NEXT_DAY and one.point.day == day]
        earlier = last_cued_day(swung, before=day)
        if earlier is not None:
            between = (date.fromisoformat(day) - date.fromisoformat(earlier)).days
            found = Retention(day=day, days_between=between, test=sample(test), before=before(swung, earlier))
            out.append(found)
    return tuple(out)


def last_cued_day(swung: Sequence[Swung], *, before: str) -> str | None:
    """Give the last day earlier than `before` on which the drill was cued."""
    return max((one.point.day for one in swung if one.way is Way.CUED and one.point.day < before), default=None)


def before(swung: Sequence[Swung], day: str) -> Before:
    """Say how that day ended, with the cue and without."""
    return Before(day=day, cued=_last_block(swung, day, _HELPED), silent=_last_block(swung, day, _ALONE))


def _last_block(swung: Sequence[Swung], day: str, of: Sequence[Way]) -> Sample | None:
    """The last block that holds enough such reps; where none does, all such reps of the day."""
    points = [one.point for one in swung if one.point.day == day and one.way in of]
    blocks = [list(block) for _, block in groupby(points, key=_block_of)]
    enough = [block for block in blocks if sum(point.judged for point in block) >= ENOUGH_REPS]
    chosen = enough[-1] if enough else points
    return sample(chosen) if chosen else None


def _block_of(point: RepPoint) -> tuple[str, int, int | None]:
    return point.practice, point.stint, point.block
