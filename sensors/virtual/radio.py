"""From counts to notifications as they reach the host: device clock, connection events, retries, loss."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sensors.events import RawPacket
from sensors.ids import SensorId
from sensors.profiles.open_imu import SAMPLES_PER_PACKET, pack


@dataclass(frozen=True, slots=True, kw_only=True)
class Link:
    """One sensor's clock and radio."""

    sensor: SensorId
    device_start_us: int
    """Device clock at true time zero."""
    drift: float
    """Device seconds gained per true second."""
    rate_error: float = 0.0
    """How far the sampling rate is from nominal by the device's own clock: the sensor chip samples on an oscillator of
    its own, within a per cent or so, while the board that stamps the packets has a crystal."""
    interval_s: float = 0.030
    phase_s: float = 0.0
    retry: float = 0.05
    """Chance that a packet misses its connection event and goes with the next."""
    loss: float = 0.002
    """Chance that a packet never comes (the sensor's own buffer overflowed)."""

    def sample_times_s(self, duration_s: float, rate_hz: float) -> NDArray[np.float64]:
        """True times of the samples that the device takes by its own clock."""
        true_rate_hz = rate_hz * (1.0 + self.rate_error) * (1.0 + self.drift)
        return np.arange(int(duration_s * true_rate_hz), dtype=np.float64) / true_rate_hz

    def packets(
        self, t_s: NDArray[np.float64], counts: NDArray[np.int16], start_ns: int, rng: np.random.Generator
    ) -> Iterator[RawPacket]:
        """Notifications in order of arrival; `start_ns` is the host clock at true time zero."""
        last_arrival_s = 0.0
        for sequence, first in enumerate(range(0, len(counts) - SAMPLES_PER_PACKET + 1, SAMPLES_PER_PACKET)):
            last_s = float(t_s[first + SAMPLES_PER_PACKET - 1])
            events = np.ceil((last_s + 0.001 - self.phase_s) / self.interval_s) + rng.geometric(1 - self.retry) - 1
            air_s = float(self.phase_s + events * self.interval_s + rng.uniform(0.0004, 0.0012))
            lost = rng.random() < self.loss
            last_arrival_s = max(air_s, last_arrival_s + 0.0002)
            if lost:
                continue
            yield RawPacket(
                arrival_ns=start_ns + round(last_arrival_s * 1e9),
                sensor=self.sensor,
                payload=pack(
                    sequence=sequence,
                    clock_us=self.device_start_us + round(last_s * (1.0 + self.drift) * 1e6),
                    counts=counts[first : first + SAMPLES_PER_PACKET],
                ),
            )
