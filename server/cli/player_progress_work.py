"""What `pitchbend progress` does: see `server.cli.player_progress`."""

from __future__ import annotations

from typing import Final

import typer
from rich.box import SIMPLE
from rich.console import Console
from rich.table import Table

from fusion.drills.quantity import Unit
from server.cli.store_work import opened, player_id_or_fail
from server.progress.points import DrillKey, Way
from server.progress.sample import Sample
from server.progress.summary import DrillProgress, progress
from server.progress.trend import Trend
from server.store import people
from server.store.history import history_of

_WAYS: Final = {Way.CUED: "cued", Way.SILENT: "silent", Way.TEST: "test", Way.NEXT_DAY: "next-day test"}


def show_progress(name: str, store: str | None) -> None:
    """Print a table for each drill. Raises `CommandFailed`."""
    with opened(store) as database, database.reading() as connection:
        player_id = player_id_or_fail(people.player_id_of(connection, name), name)
        drills = progress(history_of(connection, player_id).points)
    if not drills:
        typer.echo("No rep yet that counts.")
    console = Console()
    for one in drills:
        console.print(f"[bold]{one.drill.name}[/], {_band(one.drill)}", highlight=False)
        console.print(_table(one))
        for line in (*_trends(one), *_kept(one)):
            console.print(line, highlight=False, soft_wrap=True)
        console.print()


def _table(one: DrillProgress) -> Table:
    table = Table(box=SIMPLE, pad_edge=False)
    for column in ("day", "swung", "in band", "share (95 %)", "median", "middle half"):
        table.add_column(column, justify="left" if column in ("day", "swung") else "right")
    rows = [(day.day, figures.way, day.sample) for figures in one.ways for day in figures.days]
    for day, way, sample in sorted(rows, key=lambda row: (row[0], tuple(Way).index(row[1]))):
        table.add_row(day, _WAYS[way], *_figures(sample, one.drill.unit))
    return table


def _figures(sample: Sample, unit: str) -> tuple[str, str, str, str]:
    share = sample.share
    if share is None or sample.median is None:
        return f"0 of 0 ({sample.n_reps} not judged)", "-", "-", "-"
    spread = "too few reps" if sample.quartiles is None else " to ".join(amount(one, unit) for one in sample.quartiles)
    return (
        f"{sample.n_in_band} of {sample.n_judged}",
        f"{share.share:.0%} ({share.low:.0%} to {share.high:.0%})",
        amount(sample.median, unit),
        spread,
    )


def _trends(one: DrillProgress) -> list[str]:
    return [f"Trend, {_WAYS[figures.way]}: {_trend(figures.trend, one.drill.unit)}" for figures in one.ways]


def _trend(trend: Trend, unit: str) -> str:
    if trend.per_week is None:
        days = "one more day" if trend.missing_days == 1 else f"{trend.missing_days} more days"
        return f"not enough reps; at least {trend.missing_reps} more are missing, on {days}."
    slope = trend.per_week
    value, low, high = (amount(one, unit, sign=True) for one in (slope.value, slope.low, slope.high))
    return f"{value} a week ({low} to {high}), {trend.n_days} days." + (
        " It may be chance." if slope.low <= 0.0 <= slope.high else ""
    )


def _kept(one: DrillProgress) -> list[str]:
    return [
        f"{kept.day}, {kept.days_between} {'day' if kept.days_between == 1 else 'days'} later, without the cue: "
        f"{_share(kept.test)}. Last block on {kept.before.day}: {_share(kept.before.cued)} with the cue, "
        f"{_share(kept.before.silent)} without."
        for kept in one.retentions
    ]


def _share(sample: Sample | None) -> str:
    return "none" if sample is None else f"{sample.n_in_band} of {sample.n_judged} in the band"


def _band(drill: DrillKey) -> str:
    return f"{amount(drill.low, drill.unit)} to {amount(drill.high, drill.unit)}"


def amount(value: float, unit: str, *, sign: bool = False) -> str:
    """Write a figure in a drill's unit."""
    digits, mark = {Unit.DEG: (1, "°"), Unit.S: (2, " s"), Unit.RATIO: (1, "")}[Unit(unit)]
    return f"{value:{'+' if sign else ''}.{digits}f}{mark}"
