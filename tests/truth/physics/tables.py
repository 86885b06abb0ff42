"""The figures of many scores as text."""

from __future__ import annotations

import warnings
from collections.abc import Iterator

import numpy as np

from tests.truth.physics.score import DATES, FLOORS, MARKS, POSED, QUANTITIES, Score


def report(scores: list[Score]) -> str:
    """All tables."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", RuntimeWarning)  # a quantity that is never there has no mean
        return "\n".join(
            [*counts(scores), "", *dates(scores), "", *values(scores), "", *ageing(scores), "", *coverage(scores)]
        )


def counts(scores: list[Score]) -> Iterator[str]:
    total = {
        n: sum(getattr(s, n) for s in scores)
        for n in ("n_swings", "n_missed", "n_invented", "n_flagged", "n_half_moves")
    }
    yield (
        f"{len(scores)} practices, {total['n_swings']} swings: {total['n_missed']} missed, {total['n_invented']} invented, "
        f"{total['n_flagged']} more reps flagged; {total['n_half_moves']} half-moves between them"
    )


def dates(scores: list[Score]) -> Iterator[str]:
    """Dates include the radio's least delay and the part's low-pass, about 5 to 8 ms, which the mean shows."""
    yield f"{'date error, ms':<18}{'mean':>8}{'sd':>8}{'95 %':>8}{'absent':>8}"
    off = np.vstack([s.date_ms for s in scores])
    for i, name in enumerate(DATES):
        x = off[:, i]
        yield f"{name:<18}{np.nanmean(x):8.1f}{np.nanstd(x):8.1f}{_p95(x):8.1f}{np.isnan(x).mean():8.0%}"


def values(scores: list[Score]) -> Iterator[str]:
    """By quantity and mark: error as read (RMSE, mean, 95 %), from rep to rep within a practice, at the same instant.
    The rows "pose known" are the absolute angles less the person's own error in the neutral pose; the rows
    "sensors glued" are what skin, play and slip alone make of the change since address, were the sensors perfect.
    """
    yield f"{'quantity':<21}{'at':<16}{'RMSE':>7}{'mean':>7}{'95 %':>7}{'rep-rep':>9}{'same t':>8}{'absent':>8}"
    for name in (*QUANTITIES, *POSED, *FLOORS):
        for i, mark in enumerate(MARKS):
            columns = [s.as_read[name][:, i] for s in scores]
            x = np.concatenate(columns)
            y = np.concatenate(
                [s.same_instant[name][:, i] if name in s.same_instant else np.full(0, np.nan) for s in scores]
            )
            if np.isnan(x).all():
                continue
            yield (
                f"{name:<21}{mark:<16}{_rms(x):7.2f}{np.nanmean(x):7.2f}{_p95(x):7.2f}{_within(columns):9.2f}{_rms(y):8.2f}"
                f"{np.isnan(x).mean():8.0%}"
            )


def ageing(scores: list[Score]) -> Iterator[str]:
    """The same in the last minutes as in the first?"""
    yield f"{'RMSE at top':<21}{'first 5 min of swings':>22}{'last 5 min':>12}"
    top = MARKS.index("top")
    for name in QUANTITIES:
        first = np.concatenate([s.as_read[name][s.minutes <= s.minutes.min(initial=np.inf) + 5.0, top] for s in scores])
        last = np.concatenate([s.as_read[name][s.from_end <= 5.0, top] for s in scores])
        if not np.isnan(first).all():
            yield f"{name:<21}{_rms(first):22.2f}{_rms(last):12.2f}"


def coverage(scores: list[Score]) -> Iterator[str]:
    """An honest one sd holds 68 %, two hold 95 %."""
    yield (
        f"{'stated uncertainty':<21}{'marks: n':>9}{'<1 sd':>7}{'<2 sd':>7}{'mean sd at top':>16}"
        f"{'series: n':>11}{'<1 sd':>7}{'<2 sd':>7}"
    )
    for name in QUANTITIES:
        off = np.abs(np.vstack([s.as_read[name] for s in scores]))
        sd = np.vstack([s.sd[name] for s in scores])
        good = np.isfinite(off) & np.isfinite(sd)
        n, one, two = np.sum([s.coverage.get(name, (0, 0, 0)) for s in scores], axis=0)
        if not good.any() and not n:
            yield f"{name:<21}{0:>9}  none stated"
            continue
        x, u = off[good], sd[good]
        yield (
            f"{name:<21}{x.size:9d}{(x < u).mean():7.0%}{(x < 2 * u).mean():7.0%}{np.nanmean(sd[:, MARKS.index('top')]):16.2f}"
            f"{n:11d}{one / max(n, 1):7.0%}{two / max(n, 1):7.0%}"
        )


def _rms(x) -> float:
    return float(np.sqrt(np.nanmean(np.square(x)))) if x.size else float("nan")


def _p95(x) -> float:
    return float(np.nanpercentile(np.abs(x), 95.0)) if np.isfinite(x).any() else float("nan")


def _within(columns) -> float:
    """Standard deviation of the error about each practice's own mean."""
    apart = [x - np.nanmean(x) for x in columns if np.isfinite(x).sum() > 1]
    return _rms(np.concatenate(apart)) if apart else float("nan")
