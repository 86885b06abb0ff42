"""Packets without a clock, to readings: time is worked out from the moments of arrival and the usual rate.

A packet comes at once or late, never early, so the tracked time follows early packets quickly and late ones slowly. What it
costs stands in `docs/adding-a-sensor.md`. Without a counter as well, a lost packet leaves no trace.

Rule 1: with a counter, a packet that lies behind the newest one is a duplicate or late; it is dropped and counted.
Rule 2: a step of the counter is a `Gap` of the packets between; without one, a pause of more than a quarter second is a `Gap`
of unknown size.
Rule 3: a counter step that the arrivals contradict is a restart: nothing is bridged.
"""

from __future__ import annotations

import math
from collections import deque
from typing import Final

import numpy as np

from sensors.decode.intake import Intake, reading
from sensors.events import RawPacket
from sensors.profiles.base import Profile
from sensors.profiles.layout import Unpacked
from sensors.readings import Gap, Malformed, Reading

PAUSE_S: Final = 0.25
"""Longer than this behind the usual rate, and samples are missing for sure."""
_LATE_PACKETS: Final = 8
_FOLLOW_S: Final = 2.0
"""How slowly the tracked time follows packets that come later than the rate predicts."""
_SLOWEST: Final = 0.5
"""Time never goes on by less than this share of the usual, however early packets come."""
_WINDOW_S: Final = 10.0
_SPAN_S: Final = 3.0
"""The rate is measured over the last `_WINDOW_S`, once that holds `_SPAN_S`."""
_RATE_TOLERANCE: Final = 0.1


class ArrivalDecoder:
    """Stateful decoder of one sensor. `push` gives the items of one packet, in order; device time is that of arrival."""

    def __init__(self, profile: Profile) -> None:
        self._profile = profile
        self._modulus = profile.sequence_modulus
        self._intake = Intake(profile)
        self._nominal_s = 1.0 / profile.nominal_rate_hz
        self._usual_s = self._nominal_s
        self._last_s: float | None = None
        """Time of the newest sample."""
        self._last_arrival_s = 0.0
        self._last_sequence = 0
        self._last_n = 0
        self._n_samples = 0
        self._track: deque[tuple[float, int]] = deque()
        """(time, samples until then), some of the last seconds."""
        self.n_duplicates = 0

    def push(self, packet: RawPacket) -> tuple[Reading | Gap | Malformed, ...]:
        """Decode one notification."""
        malformed, unpacked = self._intake.push(packet)
        if unpacked is None:
            return malformed
        return (*malformed, *self._ordered(packet, unpacked, packet.arrival_ns * 1e-9))

    def _ordered(self, packet: RawPacket, unpacked: Unpacked, arrival_s: float) -> tuple[Reading | Gap, ...]:
        n = len(unpacked.gyr)
        gap: Gap | None = None
        n_missing = 0
        if self._last_s is not None and self._modulus is not None and unpacked.sequence is not None:
            n_packets = (unpacked.sequence - self._last_sequence) % self._modulus
            waited_s = arrival_s - self._last_arrival_s
            expected_s = n_packets * self._last_n * self._usual_s
            if -n_packets % self._modulus <= _LATE_PACKETS:
                self.n_duplicates += 1
                return ()
            if expected_s > 1.0 + 2.0 * waited_s or waited_s > 2.0 + 2.0 * expected_s:
                gap = Gap(arrival_ns=packet.arrival_ns, sensor=packet.sensor, n_lost=0, restarted=True)
                self._begin(arrival_s, n)
            elif n_packets > 1:
                n_missing = (n_packets - 1) * self._last_n
                gap = Gap(arrival_ns=packet.arrival_ns, sensor=packet.sensor, n_lost=n_missing)
        if unpacked.sequence is not None:
            self._last_sequence, self._last_n = unpacked.sequence, n
        self._last_arrival_s = arrival_s
        start_s = self._last_s if self._last_s is not None else self._begin(arrival_s, n)
        ahead_s = (n_missing + n) * self._usual_s
        late_s = arrival_s - start_s - ahead_s
        if gap is None and late_s > PAUSE_S:
            n_lost = max(1, round(late_s / self._usual_s))
            gap = Gap(arrival_ns=packet.arrival_ns, sensor=packet.sensor, n_lost=n_lost)
            start_s = self._begin(arrival_s, n)
            late_s = 0.0
        end_s = self._advanced(start_s, (n_missing + n) if not (gap and not n_missing) else n, late_s)
        share = n / (n + n_missing)
        device_s = end_s - (end_s - start_s) * share / n * np.arange(n - 1, -1, -1, dtype=np.float64)
        whole = reading(self._profile, packet, unpacked, device_s)
        return (whole,) if gap is None else (gap, whole)

    def _begin(self, arrival_s: float, n: int) -> float:
        """Begin anew; gives the time of the sample before."""
        self._last_s = arrival_s - n * self._usual_s
        self._track.clear()
        return self._last_s

    def _advanced(self, start_s: float, n: int, late_s: float) -> float:
        """Go on by `n` samples, and a little towards the arrival, which is `late_s` after what the rate predicts."""
        usual_s = n * self._usual_s
        if late_s > 0.0:
            end_s = start_s + usual_s + late_s * -math.expm1(-usual_s / _FOLLOW_S)
        else:
            end_s = start_s + max(usual_s + late_s, _SLOWEST * usual_s)
        self._last_s = end_s
        self._n_samples += n
        self._measure(end_s)
        return end_s

    def _measure(self, end_s: float) -> None:
        """Learn the rate from how far the tracked time has come with how many samples."""
        track = self._track
        if not track or end_s - track[-1][0] >= 0.25:
            track.append((end_s, self._n_samples))
            while end_s - track[0][0] > _WINDOW_S:
                track.popleft()
        span_s, n = end_s - track[0][0], self._n_samples - track[0][1]
        if span_s >= _SPAN_S and n > 0:
            low, high = (1.0 - _RATE_TOLERANCE) * self._nominal_s, (1.0 + _RATE_TOLERANCE) * self._nominal_s
            self._usual_s = min(max(span_s / n, low), high)
