"""The part of the contract about how sensors and the recording fare."""

from __future__ import annotations

from sensors.events import LinkReason
from server.health_advice import HealthTrouble
from server.wire_base import Message


class LossView(Message):
    """What came and what did not."""

    n_samples: int
    n_lost: int | None
    """Null for a sensor whose packets have neither counter nor clock: what it loses cannot be seen."""
    n_packets: int
    n_packets_lost: int | None
    lost_pct: float | None
    """Share of lost samples, percent; null when that is not known, or none are known to have been sent."""


class JitterView(Message):
    """By how much half, 95 and 99 of 100 packets were late at most, against the least delayed ones."""

    p50_ms: float
    p95_ms: float
    p99_ms: float


class ClockView(Message):
    """How the sensor's clock stands to the practice's."""

    offset_s: float
    drift_ppm: float | None
    """Null in the first 20 seconds, which are too short to tell."""
    spread_ms: float
    """How far above the fitted line the least delayed packet of a second lies, median."""
    span_s: float
    """Time that the fit rests on."""
    age_s: float
    """Since the newest packet in it."""


class DropView(Message):
    """The link was lost."""

    at_s: float
    reason: LinkReason
    back_s: float | None
    """When it came back; null as long as it has not."""


class StretchView(Message):
    """A stretch in which samples were lost or none came."""

    start_s: float
    end_s: float
    n_lost: int
    longest_wait_s: float


class AdviceView(Message):
    """One figure is bad."""

    trouble: HealthTrouble
    text: str
    """What it means and what to do, in plain sentences."""


class HealthView(Message):
    """All that is known of how a sensor fares."""

    nominal_rate_hz: float | None
    device_rate_hz: float | None
    """Samples a second by the sensor's own clock; null until it is measured."""
    recent: LossView
    """Of the last ten seconds."""
    overall: LossView
    n_duplicates: int
    n_restarts: int
    saturated_s: float
    """Seconds in which the motion outran the sensor's range."""
    jitter: JitterView | None
    """Of the last ten seconds; null without packets."""
    clock: ClockView | None
    battery_pct_per_hour: float | None
    battery_hours_left: float | None
    rssi_dbm: int | None
    """As heard before it was connected; null when this computer or this recording does not tell."""
    rssi_age_s: float | None
    n_drops: int
    drops: list[DropView]
    """The newest, oldest first."""
    worst: list[StretchView]
    """The worst first."""
    advice: list[AdviceView]


class TapeView(Message):
    """How the recording fares."""

    path: str | None
    """Where it is being written; null while there is no place."""
    n_files: int
    """Files of this practice so far: another one is begun when a disk fails."""
    size_mb: float
    held_s: float
    """Seconds of practice that wait in memory to be written."""
    n_missed: int
    """Events that could not be kept."""
    minutes_left: float | None
    """Until the disk is full, at the present rate."""
