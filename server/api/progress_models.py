"""What the API says of progress, and of tests that are due. Figures of a drill are in its unit; absent is null."""

from __future__ import annotations

from pydantic import Field

from fusion.drills.quantity import Quantity, Unit
from server.progress.points import DrillKey, Way
from server.progress.retention import Retention
from server.progress.retest import Retest
from server.progress.sample import Sample
from server.progress.summary import DrillProgress, WayFigures
from server.progress.trend import Trend
from server.wire_base import Message


class SampleView(Message):
    """Some reps of one drill in figures."""

    n_reps: int
    n_judged: int
    n_in_band: int
    share: float | None = Field(description="in the band of those judged, 0 to 1")
    share_low: float | None = Field(description="Wilson's score interval, 95 %")
    share_high: float | None
    median: float | None
    low_quartile: float | None = Field(description="null below `enough_reps` judged reps")
    high_quartile: float | None

    @staticmethod
    def of(sample: Sample) -> SampleView:
        """Give its outside form."""
        share, quartiles = sample.share, sample.quartiles or (None, None)
        return SampleView(
            n_reps=sample.n_reps,
            n_judged=sample.n_judged,
            n_in_band=sample.n_in_band,
            share=share.share if share is not None else None,
            share_low=share.low if share is not None else None,
            share_high=share.high if share is not None else None,
            median=sample.median,
            low_quartile=quartiles[0],
            high_quartile=quartiles[1],
        )


class DayView(Message):
    """One day in one way of swinging."""

    day: str = Field(description="calendar date, ISO 8601")
    sample: SampleView


class TrendView(Message):
    """How the days' medians move; the slope is null, and what is missing more than 0, where there are not enough reps."""

    n_days: int = Field(description="days with `enough_reps` judged reps")
    missing_days: int
    missing_reps: int = Field(description="at least so many, spread over the missing days")
    per_week: float | None
    per_week_low: float | None = Field(description="95 % interval")
    per_week_high: float | None

    @staticmethod
    def of(trend: Trend) -> TrendView:
        """Give its outside form."""
        slope = trend.per_week
        return TrendView(
            n_days=trend.n_days,
            missing_days=trend.missing_days,
            missing_reps=trend.missing_reps,
            per_week=slope.value if slope is not None else None,
            per_week_low=slope.low if slope is not None else None,
            per_week_high=slope.high if slope is not None else None,
        )


class WayView(Message):
    """All days in one way of swinging, in order."""

    way: Way
    days: list[DayView]
    trend: TrendView

    @staticmethod
    def of(figures: WayFigures) -> WayView:
        """Give its outside form."""
        days = [DayView(day=one.day, sample=SampleView.of(one.sample)) for one in figures.days]
        return WayView(way=figures.way, days=days, trend=TrendView.of(figures.trend))


class RetentionView(Message):
    """A test on a later day, beside the last blocks of the day before."""

    day: str
    days_between: int
    test: SampleView
    before_day: str
    cued: SampleView | None
    silent: SampleView | None

    @staticmethod
    def of(kept: Retention) -> RetentionView:
        """Give its outside form."""
        return RetentionView(
            day=kept.day,
            days_between=kept.days_between,
            test=SampleView.of(kept.test),
            before_day=kept.before.day,
            cued=_sample(kept.before.cued),
            silent=_sample(kept.before.silent),
        )


class DrillRef(Message):
    """A drill as far as reps can be compared."""

    name: str
    quantity: Quantity
    unit: Unit
    low: float
    high: float
    from_mark: str | None = Field(description="null for a quantity of the whole swing")
    to_mark: str | None

    @staticmethod
    def of(drill: DrillKey) -> DrillRef:
        """Give its outside form."""
        return DrillRef(
            name=drill.name,
            quantity=Quantity(drill.quantity),
            unit=Unit(drill.unit),
            low=drill.low,
            high=drill.high,
            from_mark=drill.from_mark,
            to_mark=drill.to_mark,
        )


class DrillProgressView(Message):
    """One drill; only the ways in which it was swung."""

    drill: DrillRef
    ways: list[WayView]
    retentions: list[RetentionView]

    @staticmethod
    def of(one: DrillProgress) -> DrillProgressView:
        """Give its outside form."""
        return DrillProgressView(
            drill=DrillRef.of(one.drill),
            ways=[WayView.of(figures) for figures in one.ways],
            retentions=[RetentionView.of(kept) for kept in one.retentions],
        )


class ProgressView(Message):
    """A player's progress, the drill practised last in front."""

    player: str
    enough_reps: int = Field(description="judged reps in one way of swinging make a day count for a trend")
    enough_days: int = Field(description="such days make a trend")
    drills: list[DrillProgressView]


class RetestView(Message):
    """A test of an earlier day's drill that may be swung now."""

    drill: DrillRef
    text: str = Field(description="the drill with nothing but the silent block, as a drill's file has it")
    n_reps: int
    days_since: int = Field(description="1: due today; more: overdue")
    before_day: str
    cued: SampleView | None
    silent: SampleView | None

    @staticmethod
    def of(one: Retest) -> RetestView:
        """Give its outside form."""
        return RetestView(
            drill=DrillRef.of(one.drill),
            text=one.text,
            n_reps=one.n_reps,
            days_since=one.days_since,
            before_day=one.before.day,
            cued=_sample(one.before.cued),
            silent=_sample(one.before.silent),
        )


class RetestList(Message):
    """Those that are due, the drill practised last in front."""

    items: list[RetestView]


def _sample(sample: Sample | None) -> SampleView | None:
    return None if sample is None else SampleView.of(sample)
