"""Packets whose every sample carries a device stamp, to readings. How samples are grouped changes neither samples nor gaps.

Rule 1: a sample with the stamp of the newest one, or of a moment just before, is a duplicate or late: dropped, counted.
Rule 2: a step of more than 1.5 usual spacings is a `Gap`, placed before the reading that ends it, within a packet too.
Rule 3: a step further back than a late packet, or one that the moments of arrival contradict, is a restart.
"""

from __future__ import annotations

from typing import Final

import numpy as np

from sensors.decode.intake import Intake, reading
from sensors.decode.packet_clock import contradicts
from sensors.decode.timed import HOLE_SPACINGS, gap_of, runs
from sensors.events import RawPacket
from sensors.profiles.base import Profile
from sensors.profiles.layout import Unpacked
from sensors.readings import Gap, Malformed, Reading

_LATE_S: Final = 0.5
"""Samples further behind than this are not late: the device began anew."""
_RESTART_S: Final = -1.0
"""Any step back stands for a restart."""


class PerSampleDecoder:
    """Stateful decoder of one sensor. `push` gives the items of one packet, in order."""

    def __init__(self, profile: Profile) -> None:
        self._profile = profile
        self._intake = Intake(profile)
        self._usual_s = 1.0 / profile.nominal_rate_hz
        self._last_tick = 0
        self._last_s: float | None = None
        self._last_ns = 0
        self.n_duplicates = 0
        """Samples dropped by rule 1."""

    def link_again(self) -> None:
        """Nothing to do: a device that began anew shows by its times, whatever the connection."""

    def push(self, packet: RawPacket) -> tuple[Reading | Gap | Malformed, ...]:
        """Decode one notification."""
        malformed, unpacked = self._intake.push(packet)
        if unpacked is None or unpacked.sample_clock is None:
            return malformed
        return (*malformed, *self._ordered(packet, unpacked, unpacked.sample_clock.tolist()))

    def _ordered(self, packet: RawPacket, unpacked: Unpacked, ticks: list[int]) -> tuple[Reading | Gap, ...]:
        clock = self._profile.clock
        waited_s = (packet.arrival_ns - self._last_ns) * 1e-9
        kept: list[int] = []
        steps_s: list[float] = []
        times_s: list[float] = []
        for i, tick in enumerate(ticks):
            if self._last_s is None:
                step_s, at_s = self._usual_s, tick * clock.tick_s
            else:
                step_s = self._step_s(tick, waited_s if not kept else 0.0)
                if -_LATE_S <= step_s <= 0.0:
                    self.n_duplicates += 1
                    continue
                if contradicts(step_s, waited_s if not kept else 0.0):
                    step_s = _RESTART_S
                at_s = self._last_s + step_s if step_s > 0.0 else tick * clock.tick_s
            self._last_tick, self._last_s = tick, at_s
            kept.append(i)
            steps_s.append(step_s)
            times_s.append(at_s)
        if not kept:
            return ()
        self._last_ns = packet.arrival_ns
        device_s, steps = np.array(times_s), np.array(steps_s)
        gyr, acc = unpacked.gyr[kept], unpacked.acc[kept]
        longest_s = HOLE_SPACINGS * self._usual_s + clock.tick_s
        out: list[Reading | Gap] = []
        for start, end, broken in runs((steps < 0.0) | (steps > longest_s)):
            if broken:
                out.append(gap_of(packet, float(steps[start]), self._usual_s))
            part = Unpacked(sequence=None, clock=None, sample_clock=None, gyr=gyr[start:end], acc=acc[start:end])
            out.append(reading(self._profile, packet, part, device_s[start:end]))
        return tuple(out)

    def _step_s(self, tick: int, waited_s: float) -> float:
        """Time since the last sample; below zero for back, if that is the short way round and the arrivals do not object."""
        modulus, tick_s = self._profile.clock.modulus, self._profile.clock.tick_s
        step = tick - self._last_tick
        if not modulus:
            return step * tick_s
        step %= modulus
        is_forward = step <= modulus // 2 or not contradicts(step * tick_s, waited_s)
        return (step if is_forward else step - modulus) * tick_s
