"""How the sensors of a recording fared, for the terminal: the figures of the live page, over the whole of it."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from rich.box import SIMPLE
from rich.table import Table

from sensors.events import ClockJumpCause
from sensors.health import SensorHealth
from sensors.record.summary import Hitch, SensorSummary
from server.cli.tables import minutes
from server.health_advice import health_advice, whole_loss


def health_table(sensors: Sequence[SensorSummary]) -> Table:
    """All figures, a column a sensor."""
    table = Table(title="How they sent", title_justify="left", box=SIMPLE, pad_edge=False)
    table.add_column("worn on", style="dim")
    for s in sensors:
        table.add_column(s.role or "unknown", justify="right")
    for name, text in _ROWS:
        table.add_row(name, *(text(s.health) if s.health is not None else "-" for s in sensors))
    return table


def worst_table(sensors: Sequence[SensorSummary]) -> Table | None:
    """When most was lost, or nothing came for longest; None when nothing of the kind happened."""
    table = Table(title="Worst stretches", title_justify="left", box=SIMPLE, pad_edge=False)
    table.add_column("worn on", style="dim")
    for name in ("at", "for", "samples lost", "longest wait"):
        table.add_column(name, justify="right")
    for s in sensors:
        for stretch in s.health.worst if s.health is not None else ():
            table.add_row(
                s.role,
                minutes(stretch.start_s),
                f"{stretch.end_s - stretch.start_s:.1f} s",
                str(stretch.n_lost),
                f"{stretch.longest_wait_s:.2f} s",
            )
    return table if table.row_count else None


def drops_table(sensors: Sequence[SensorSummary]) -> Table | None:
    """When links were lost, why, and for how long; None when none was."""
    table = Table(title="Lost links", title_justify="left", box=SIMPLE, pad_edge=False)
    for name in ("worn on", "at", "cause", "back after"):
        table.add_column(name, justify="left" if name in {"worn on", "cause"} else "right")
    for s in sensors:
        for drop in s.health.drops if s.health is not None else ():
            back = "not" if drop.back_s is None else f"{drop.back_s - drop.at_s:.1f} s"
            table.add_row(s.role, minutes(drop.at_s), drop.reason.value.replace("_", " "), back)
    return table if table.row_count else None


def health_sentences(sensors: Sequence[SensorSummary], hitches: Sequence[Hitch]) -> list[str]:
    """Say in plain words what was bad, and what would have helped."""
    out = [_hitch_words(hitch) for hitch in hitches]
    for s in sensors:
        if s.health is not None:
            out += [f"{s.role.capitalize()}: {advice.text}" for advice in health_advice(s.health, overall=True)]
    return out


def _hitch_words(hitch: Hitch) -> str:
    at = minutes(hitch.at_s)
    match hitch.cause:
        case ClockJumpCause.SLEEP:
            return f"At {at} the computer woke from {hitch.seconds:.0f} s of sleep."
        case ClockJumpCause.SET:
            way = "forward" if hitch.seconds > 0.0 else "back"
            by = f"{way} by {abs(hitch.seconds):.0f} s"
            return f"At {at} the computer's clock was set {by}; all times of day here are by the clock before."
        case None:
            missed = f"{hitch.n_missed} events of {hitch.seconds:.1f} s"
            return f"Before {at}, {missed} were not recorded: the disk was away for too long."


def _lost(health: SensorHealth) -> str:
    loss = whole_loss(health)
    if not loss.known:
        return "unknown"
    return "-" if loss.share is None else f"{loss.n_packets_lost} packets, {loss.share:.2%}"


def _late(health: SensorHealth) -> str:
    jitter = health.jitter_overall
    if jitter is None:
        return "-"
    return " / ".join(f"{seconds * 1e3:.0f}" for seconds in (jitter.p50_s, jitter.p95_s, jitter.p99_s)) + " ms"


def _rates(health: SensorHealth) -> str:
    parts = ["-" if hz is None else f"{hz:.1f}" for hz in (health.device_rate_hz, health.nominal_rate_hz)]
    return " of ".join(parts)


def _clock(health: SensorHealth) -> str:
    clock = health.clock
    if clock is None:
        return "-"
    drift = "not known" if clock.drift_ppm is None else f"{clock.drift_ppm:+.0f} ppm"
    return f"{drift}, spread {clock.spread_s * 1e3:.1f} ms"


def _battery(health: SensorHealth) -> str:
    if health.battery_pct is None:
        return "-"
    trend = health.battery_pct_per_hour
    return f"{health.battery_pct} %" + ("" if trend is None else f", {trend:+.0f} % an hour")


def _signal(health: SensorHealth) -> str:
    return "not told" if health.rssi_dbm is None else f"{health.rssi_dbm} dBm"


_ROWS: tuple[tuple[str, Callable[[SensorHealth], str]], ...] = (
    ("samples a second, of nominal", _rates),
    ("lost", _lost),
    ("came twice or too late", lambda health: str(health.n_duplicates)),
    ("began anew", lambda health: str(health.n_restarts)),
    ("late by, 50 / 95 / 99 of 100", _late),
    ("clock against the computer's", _clock),
    ("too fast to measure", lambda health: f"{health.saturated_s:.1f} s"),
    ("signal at connecting", _signal),
    ("battery", _battery),
)
