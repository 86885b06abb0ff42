"""Payloads whose samples carry their own device time, to readings. Nothing is guessed: holes show as steps of time.

Rule 1: a sample at the very time of the one before is a repetition; it is dropped and counted.
Rule 2: a step of more than 1.5 usual spacings is a `Gap`, placed before the reading that ends it, within a packet too.
Rule 3: a step back is a restart: nothing is bridged.
So how samples were grouped into packets changes neither samples nor gaps.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from sensors.decode.saturation import FullScaleWatch
from sensors.errors import DecodeError
from sensors.events import RawPacket
from sensors.profiles.base import TimedProfile
from sensors.readings import Gap, Malformed, Reading

HOLE_SPACINGS: Final = 1.5


class TimedDecoder:
    """Stateful decoder of one sensor. `push` gives the items of one packet, in order."""

    def __init__(self, profile: TimedProfile) -> None:
        self._profile = profile
        self._usual_s = 1.0 / profile.nominal_rate_hz
        self._last_s: float | None = None
        self._full_scale = FullScaleWatch(profile)
        self.n_duplicates = 0
        """Samples dropped by rule 1."""

    def link_again(self) -> None:
        """A connection was made: nothing to note, for every sample carries its own time."""

    def push(self, packet: RawPacket) -> tuple[Reading | Gap | Malformed, ...]:
        """Decode one packet."""
        try:
            samples = self._profile.unpack(packet.payload)
        except DecodeError as error:
            return (Malformed(arrival_ns=packet.arrival_ns, sensor=packet.sensor, problem=error.problem),)
        device_s, gyr, acc = samples.device_s, samples.gyr_rad_s, samples.acc_m_s2
        before_s = device_s[0] - self._usual_s if self._last_s is None else self._last_s
        steps_s = np.diff(device_s, prepend=before_s)
        if not steps_s.all():
            fresh = steps_s != 0.0
            self.n_duplicates += int(len(steps_s) - fresh.sum())
            if not fresh.any():
                return ()
            device_s, gyr, acc, steps_s = device_s[fresh], gyr[fresh], acc[fresh], steps_s[fresh]
        self._last_s = float(device_s[-1])
        pinned = self._full_scale.push(gyr)
        out: list[Reading | Gap | Malformed] = []
        for start, end, broken in runs((steps_s < 0.0) | (steps_s > HOLE_SPACINGS * self._usual_s)):
            if broken:
                out.append(gap_of(packet, float(steps_s[start]), self._usual_s))
            out.append(
                Reading(
                    arrival_ns=packet.arrival_ns,
                    sensor=packet.sensor,
                    device_s=device_s[start:end],
                    gyr_sensor_rad_s=gyr[start:end],
                    acc_sensor_m_s2=acc[start:end],
                    saturated=bool(pinned[start:end].any()),
                )
            )
        return tuple(out)


def runs(broken: NDArray[np.bool_]) -> list[tuple[int, int, bool]]:
    """Cut samples where time is broken before one: start, end, and whether a break precedes, for each stretch."""
    breaks = set(np.flatnonzero(broken).tolist())
    starts = sorted({0} | breaks)
    return [(start, end, start in breaks) for start, end in zip(starts, [*starts[1:], len(broken)], strict=True)]


def gap_of(packet: RawPacket, step_s: float, usual_s: float) -> Gap:
    """Make the gap that a step of time means: back is a restart, forward as many samples as would have fitted in."""
    restarted = step_s < 0.0
    n_lost = 0 if restarted else max(1, round(step_s / usual_s) - 1)
    return Gap(arrival_ns=packet.arrival_ns, sensor=packet.sensor, n_lost=n_lost, restarted=restarted)
