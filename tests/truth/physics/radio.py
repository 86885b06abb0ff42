"""From a sampled sensor to what a host gets: device clock, packets, connection events, retries, losses."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Series = NDArray[np.float64]
PACKET = 10  # samples
TICK_S = 1.0 / 32768.0


@dataclass(frozen=True, slots=True)
class Link:
    """One device's clock and radio."""

    sample_hz: float
    first_s: float  # true time of the first sample
    clock_offset_s: float
    clock_ppm: float
    event_s: float  # connection interval
    event_phase_s: float
    retry: float  # share of events at which a packet must wait for the next
    loss: float  # share of packets that never come
    least_s: float  # the least time from ready to arrived


def draw_link(rng: np.random.Generator) -> Link:
    event_s = rng.uniform(0.015, 0.050)
    return Link(
        sample_hz=200.0 * (1.0 + rng.uniform(-0.01, 0.01)),
        first_s=rng.uniform(0.0, 0.05),
        clock_offset_s=rng.uniform(0.0, 5000.0),
        clock_ppm=rng.uniform(-50.0, 50.0),
        event_s=event_s,
        event_phase_s=rng.uniform(0.0, event_s),
        retry=rng.uniform(0.02, 0.10),
        loss=rng.uniform(0.001, 0.005),
        least_s=rng.uniform(0.002, 0.005),
    )


def sample_times(link: Link, end_s: float) -> Series:
    """True times of the samples, whole packets only."""
    n = int((end_s - link.first_s) * link.sample_hz) // PACKET * PACKET
    return link.first_s + np.arange(n) / link.sample_hz


def device_times(link: Link, t_s: Series) -> Series:
    """The device's own stamps, in whole ticks of its clock."""
    return np.round((link.clock_offset_s + t_s * (1.0 + 1e-6 * link.clock_ppm)) / TICK_S) * TICK_S


def arrivals(link: Link, t_s: Series, rng: np.random.Generator) -> tuple[Series, NDArray[np.bool_]]:
    """Arrival (true time) of each sample and whether it arrives; a packet waits for its event and for those before it."""
    ready = t_s[PACKET - 1 :: PACKET]
    event = np.ceil((ready - link.event_phase_s) / link.event_s)
    event += rng.geometric(1.0 - link.retry, ready.size) - 1
    event = np.maximum.accumulate(event)
    sent = link.event_phase_s + event * link.event_s
    arrived = sent + link.least_s + rng.exponential(0.0008, ready.size)
    arrived = np.maximum.accumulate(arrived)
    kept = rng.uniform(size=ready.size) >= link.loss
    return np.repeat(arrived, PACKET), np.repeat(kept, PACKET)
