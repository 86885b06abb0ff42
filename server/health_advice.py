"""What a sensor's figures mean to a person: which of them is bad, and what to do. The same for the page and for a recording."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from sensors.events import LinkState
from sensors.health import SensorHealth
from sensors.tally.lateness import Jitter
from sensors.tally.loss import Loss

MOST_LOSS: Final = 0.02
"""3 % of lost packets cost a quarter of a degree, and a swing with a gap in it is not judged."""
MOST_LATE_S: Final = 0.06
"""95 of 100 packets. A cue at lead arm level is of use within 90 ms, all included."""
MOST_CLOCK_SPREAD_S: Final = 0.010
MOST_DRIFT_PPM: Final = 100.0
"""Twice what quartz on such boards has; common practice, no source."""
MOST_RATE_ERROR: Final = 0.05
"""Sensor chips sample within a few percent of their nominal rate; common practice, no source."""
LEAST_BATTERY_PCT: Final = 15
LEAST_BATTERY_H: Final = 0.5
LEAST_RSSI_DBM: Final = -85
"""A few decibels above what receivers of this kind still hear; common practice, no source."""
MOST_DUPLICATES: Final = 0.01
MOST_SATURATED_S: Final = 1.0
_DROPS_FORGIVEN: Final = 2
"""While it streams again, one or two lost links are past."""


class HealthTrouble(StrEnum):
    """Which figure is bad."""

    LOSS = "loss"
    LATE = "late"
    RATE = "rate"
    CLOCK = "clock"
    SATURATED = "saturated"
    UNREADABLE = "unreadable"
    DUPLICATES = "duplicates"
    DROPS = "drops"
    RESTARTS = "restarts"
    BATTERY = "battery"
    SIGNAL = "signal"


@dataclass(frozen=True, slots=True, kw_only=True)
class Advice:
    """One bad figure."""

    trouble: HealthTrouble
    text: str
    """What it means and what to do."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Span:
    """What of the figures counts: the last seconds, or all."""

    loss: Loss
    jitter: Jitter | None
    most_drops: int


def health_advice(health: SensorHealth, *, overall: bool) -> tuple[Advice, ...]:
    """Give all that is bad: of the last seconds while it runs, or of a recording `overall`."""
    if overall:
        span = _Span(loss=whole_loss(health), jitter=health.jitter_overall, most_drops=0)
    else:
        is_up = health.state is LinkState.STREAMING
        span = _Span(loss=health.recent, jitter=health.jitter, most_drops=_DROPS_FORGIVEN if is_up else 0)
    found = ((trouble, rule(health, span)) for trouble, rule in _RULES)
    return tuple(Advice(trouble=trouble, text=text) for trouble, text in found if text)


def whole_loss(health: SensorHealth) -> Loss:
    """Loss since the sensor was first heard."""
    return Loss(
        n_samples=health.n_samples,
        n_lost=health.n_lost or 0,
        known=health.n_lost is not None,
        n_packets=health.n_packets,
        n_packets_lost=health.n_packets_lost,
    )


def _loss(_: SensorHealth, span: _Span) -> str:
    share = span.loss.share
    if share is None or share <= MOST_LOSS:
        return ""
    return (
        f"{100.0 * share:.1f} % of the samples are lost. Bring the computer or phone nearer, within a few metres and in sight; "
        "a body, a bag or metal between them weakens the radio. Switch off other Bluetooth devices near by."
    )


def _late(_: SensorHealth, span: _Span) -> str:
    jitter = span.jitter
    if jitter is None or jitter.p95_s <= MOST_LATE_S:
        return ""
    return (
        f"Packets come up to {jitter.p95_s * 1e3:.0f} ms late, and the sound with them. The angles stay right. "
        "Bring the computer nearer, close what keeps it busy, and move away from crowded Wi-Fi."
    )


def _rate(health: SensorHealth, _: _Span) -> str:
    nominal_hz, real_hz = health.nominal_rate_hz, health.device_rate_hz
    if nominal_hz is None or real_hz is None or abs(real_hz / nominal_hz - 1.0) <= MOST_RATE_ERROR:
        return ""
    return (
        f"It takes {real_hz:.0f} samples a second and not {nominal_hz:.0f}. Angles are still timed by its own clock. "
        "Switch it off and on; if it stays so, its firmware is set to another rate."
    )


def _clock(health: SensorHealth, _: _Span) -> str:
    clock = health.clock
    if clock is None:
        return ""
    if clock.spread_s > MOST_CLOCK_SPREAD_S:
        return (
            "The two sensors' times cannot be put together well, which shows in the downswing first. "
            "Bring the computer nearer; if it lasts, switch the sensor off and on."
        )
    if clock.drift_ppm is None or abs(clock.drift_ppm) <= MOST_DRIFT_PPM:
        return ""
    way = "fast" if clock.drift_ppm > 0.0 else "slow"
    return (
        f"Its clock runs {abs(clock.drift_ppm):.0f} millionths {way}, more than a sound one does. Pitchbend allows for that, "
        "and the angles stay right. If it changes from day to day, use another sensor."
    )


def _saturated(health: SensorHealth, _: _Span) -> str:
    if health.saturated_s <= MOST_SATURATED_S:
        return ""
    return (
        f"For {health.saturated_s:.1f} s the motion was faster than the sensor can measure; those swings are not judged to "
        "the end. Fix it firmly, nearer to the hands, and see that it is set to 2000 deg/s."
    )


def _unreadable(health: SensorHealth, _: _Span) -> str:
    if not health.n_malformed:
        return ""
    return f"{health.n_malformed} packets could not be read and were left out. Its firmware may be of another version."


def _duplicates(health: SensorHealth, _: _Span) -> str:
    if health.n_duplicates <= MOST_DUPLICATES * max(1, health.n_packets):
        return ""
    return (
        "Packets come twice or too late. Each counts once at most, and the radio carries more than it need: "
        "switch the sensor off and on."
    )


def _drops(health: SensorHealth, span: _Span) -> str:
    if health.n_drops <= span.most_drops:
        return ""
    times = "once" if health.n_drops == 1 else f"{health.n_drops} times"
    return f"The link was lost {times}. Keep the computer or phone within a few metres, and the sensor charged."


def _restarts(health: SensorHealth, _: _Span) -> str:
    if not health.n_restarts:
        return ""
    times = "once" if health.n_restarts == 1 else f"{health.n_restarts} times"
    return (
        f"The sensor began anew {times}. Unless somebody switched it off and on, charge it; if that does not help, "
        "its battery or its contact is poor."
    )


def _battery(health: SensorHealth, _: _Span) -> str:
    level, hours = health.battery_pct, health.battery_hours_left
    if level is None or (level > LEAST_BATTERY_PCT and (hours is None or hours >= LEAST_BATTERY_H)):
        return ""
    left = "" if hours is None else f" At this rate it lasts for another {max(1, round(hours * 60))} min."
    return f"The battery is at {level} %. Charge it before the next practice.{left}"


def _signal(health: SensorHealth, _: _Span) -> str:
    if health.rssi_dbm is None or health.rssi_dbm >= LEAST_RSSI_DBM:
        return ""
    return f"It was barely heard ({health.rssi_dbm} dBm) when it was connected. Bring the computer nearer."


_RULES: Final[tuple[tuple[HealthTrouble, Callable[[SensorHealth, _Span], str]], ...]] = (
    (HealthTrouble.LOSS, _loss),
    (HealthTrouble.LATE, _late),
    (HealthTrouble.RATE, _rate),
    (HealthTrouble.CLOCK, _clock),
    (HealthTrouble.SATURATED, _saturated),
    (HealthTrouble.UNREADABLE, _unreadable),
    (HealthTrouble.DUPLICATES, _duplicates),
    (HealthTrouble.DROPS, _drops),
    (HealthTrouble.RESTARTS, _restarts),
    (HealthTrouble.BATTERY, _battery),
    (HealthTrouble.SIGNAL, _signal),
)
