"""A sensor's figures, and the recording's, as they go over the wire. Pure functions."""

from __future__ import annotations

from typing import Final

from sensors.health import SensorHealth
from sensors.record.background import TapeStatus
from sensors.tally.lateness import Jitter
from sensors.tally.loss import Loss
from server.health_advice import health_advice, whole_loss
from server.wire_health import AdviceView, ClockView, DropView, HealthView, JitterView, LossView, StretchView, TapeView

_WORST_SHOWN: Final = 3


def health_view(health: SensorHealth) -> HealthView:
    """Show all figures of one sensor as it streams."""
    clock = health.clock
    return HealthView(
        nominal_rate_hz=health.nominal_rate_hz,
        device_rate_hz=_rounded(health.device_rate_hz, 2),
        recent=_loss_view(health.recent),
        overall=_loss_view(whole_loss(health)),
        n_duplicates=health.n_duplicates,
        n_restarts=health.n_restarts,
        saturated_s=round(health.saturated_s, 2),
        jitter=_jitter_view(health.jitter),
        clock=None
        if clock is None or health.clock_age_s is None
        else ClockView(
            offset_s=round(clock.offset_s, 6),
            drift_ppm=_rounded(clock.drift_ppm, 1),
            spread_ms=round(clock.spread_s * 1e3, 2),
            span_s=round(clock.span_s, 1),
            age_s=round(health.clock_age_s, 1),
        ),
        battery_pct_per_hour=_rounded(health.battery_pct_per_hour, 1),
        battery_hours_left=_rounded(health.battery_hours_left, 1),
        rssi_dbm=health.rssi_dbm,
        rssi_age_s=_rounded(health.rssi_age_s, 0),
        n_drops=health.n_drops,
        drops=[
            DropView(at_s=round(drop.at_s, 1), reason=drop.reason, back_s=_rounded(drop.back_s, 1))
            for drop in health.drops
        ],
        worst=[
            StretchView(
                start_s=round(stretch.start_s, 1),
                end_s=round(stretch.end_s, 1),
                n_lost=stretch.n_lost,
                longest_wait_s=round(stretch.longest_wait_s, 2),
            )
            for stretch in health.worst[:_WORST_SHOWN]
        ],
        advice=[AdviceView(trouble=one.trouble, text=one.text) for one in health_advice(health, overall=False)],
    )


def tape_view(status: TapeStatus) -> TapeView:
    """Show how the recording fares."""
    minutes_left = status.minutes_left
    return TapeView(
        path=None if status.path is None else str(status.path),
        n_files=len(status.paths),
        size_mb=round(status.size_bytes / 1e6, 2),
        held_s=round(status.held_s, 1),
        n_missed=status.n_missed,
        minutes_left=None if minutes_left is None else float(round(minutes_left)),
    )


def _loss_view(loss: Loss) -> LossView:
    share = loss.share
    return LossView(
        n_samples=loss.n_samples,
        n_lost=loss.n_lost if loss.known else None,
        n_packets=loss.n_packets,
        n_packets_lost=loss.n_packets_lost if loss.known else None,
        lost_pct=None if share is None else round(100.0 * share, 3),
    )


def _jitter_view(jitter: Jitter | None) -> JitterView | None:
    if jitter is None:
        return None
    return JitterView(
        p50_ms=round(jitter.p50_s * 1e3, 1), p95_ms=round(jitter.p95_s * 1e3, 1), p99_ms=round(jitter.p99_s * 1e3, 1)
    )


def _rounded(value: float | None, digits: int) -> float | None:
    return None if value is None else round(value, digits)
