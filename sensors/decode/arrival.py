"""Packets without a clock, to readings: time is worked out from the moments of arrival and the usual rate.

A packet comes at once or late, never early, so the tracked time follows early packets quickly and late ones slowly. What it
costs stands in `docs/adding-a-sensor.md`. Without a counter as well, a lost packet leaves no trace.

Rule 1: with a counter, a packet that lies behind the newest one, and came too soon to lie a round ahead, is a duplicate or
late; it is dropped and counted.
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
_HELD_BACK_S: Final = 2.0
"""With a counter that says that nothing is missing, a packet may come so late: what a radio holds back in its longest fade."""
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
        self._last_sequence = 0
        self._last_n = 0
        self._n_samples = 0
        self._track: deque[tuple[float, int]] = deque()
        """(time, samples until then), some of the last seconds."""
        self.n_duplicates = 0

    def link_again(self) -> None:
        """Nothing to do: a device that began anew shows by its times, whatever the connection."""

    def push(self, packet: RawPacket) -> tuple[Reading | Gap | Malformed, ...]:
        """Decode one notification."""
        malformed, unpacked = self._intake.push(packet)
        if unpacked is None:
            return malformed
        return (*malformed, *self._ordered(packet, unpacked, packet.arrival_ns * 1e-9))

    def _ordered(self, packet: RawPacket, unpacked: Unpacked, arrival_s: float) -> tuple[Reading | Gap, ...]:
        n = len(unpacked.gyr)
        if self._last_s is None:
            self._note(unpacked.sequence, n)
            return (self._reading(packet, unpacked, self._begin(arrival_s, n), 0, 0.0),)
        if self._modulus is None or unpacked.sequence is None:
            return self._uncounted(packet, unpacked, self._last_s, arrival_s)
        return self._counted(packet, unpacked, self._last_s, arrival_s, (unpacked.sequence, self._modulus))

    def _uncounted(
        self, packet: RawPacket, unpacked: Unpacked, last_s: float, arrival_s: float
    ) -> tuple[Reading | Gap, ...]:
        n = len(unpacked.gyr)
        late_s = arrival_s - last_s - n * self._usual_s
        if late_s <= PAUSE_S:
            return (self._reading(packet, unpacked, last_s, 0, late_s),)
        n_lost = max(1, round(late_s / self._usual_s))
        gap = Gap(arrival_ns=packet.arrival_ns, sensor=packet.sensor, n_lost=n_lost)
        return (gap, self._reading(packet, unpacked, self._begin(arrival_s, n), 0, 0.0))

    def _counted(
        self, packet: RawPacket, unpacked: Unpacked, last_s: float, arrival_s: float, counter: tuple[int, int]
    ) -> tuple[Reading | Gap, ...]:
        n, (sequence, modulus) = len(unpacked.gyr), counter
        n_packets = (sequence - self._last_sequence) % modulus
        n_missing = (n_packets - 1) * self._last_n
        # A counter of few bits is soon round: had it gone on so far, that would have taken its time.
        has_come_far = n_packets > 0 and arrival_s - last_s > 0.5 * (n_missing + n) * self._usual_s
        if -n_packets % modulus <= _LATE_PACKETS and not has_come_far:
            self.n_duplicates += 1
            return ()
        late_s = arrival_s - last_s - (n_missing + n) * self._usual_s
        # A counter of few bits has gone round while nothing came for long.
        lap = modulus * self._last_n
        laps = max(0, round(late_s / (lap * self._usual_s)))
        n_missing, late_s = n_missing + laps * lap, late_s - laps * lap * self._usual_s
        self._note(sequence, n)
        if not -PAUSE_S <= late_s <= _HELD_BACK_S:
            gap = Gap(arrival_ns=packet.arrival_ns, sensor=packet.sensor, n_lost=0, restarted=True)
            return (gap, self._reading(packet, unpacked, self._begin(arrival_s, n), 0, 0.0))
        whole = self._reading(packet, unpacked, last_s, n_missing, late_s)
        if not n_missing:
            return (whole,)
        return (Gap(arrival_ns=packet.arrival_ns, sensor=packet.sensor, n_lost=n_missing), whole)

    def _note(self, sequence: int | None, n: int) -> None:
        if sequence is not None:
            self._last_sequence, self._last_n = sequence, n

    def _begin(self, arrival_s: float, n: int) -> float:
        """Begin anew; gives the time of the sample before."""
        self._track.clear()
        return arrival_s - n * self._usual_s

    def _reading(self, packet: RawPacket, unpacked: Unpacked, start_s: float, n_missing: int, late_s: float) -> Reading:
        """Place a packet that comes `n_missing` samples after `start_s`, and `late_s` after what the rate predicts."""
        n = len(unpacked.gyr)
        end_s = self._advanced(start_s, n_missing + n, late_s)
        spacing_s = (end_s - start_s) / (n_missing + n)
        device_s = end_s - spacing_s * np.arange(n - 1, -1, -1, dtype=np.float64)
        return reading(self._profile, packet, unpacked, device_s)

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
