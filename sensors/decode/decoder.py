"""One sensor's payloads to readings: unpack, order, unwrap, scale. Whatever the radio does, no sample comes out twice.

Rule 1: a packet whose sequence number lies behind the newest one is a duplicate or late; it is dropped and counted.
Rule 2: a step of `n` packets forward is a `Gap` of `n - 1` packets, placed before the reading that ends it.
Rule 3: a sequence step that the device clock contradicts, or a clock step that the host's clock contradicts, is a restart:
counters begin anew, nothing is bridged. Within a connection a packet may come however late, so there the host only sees a
clock that ran ahead of it; from one connection to the next nothing is under way, and both clocks must have gone alike.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sensors.decode.timed import TimedDecoder
from sensors.errors import DecodeError
from sensors.events import RawPacket
from sensors.profiles.base import AnyProfile, Profile, Unpacked
from sensors.readings import Gap, Malformed, Reading

DecodedItem = Reading | Gap | Malformed

_RESTART_TOLERANCE_S = 1.0
"""How far the device clock may be from what the sequence step implies before it is a restart."""
_RATE_TOLERANCE = 0.25
"""A packet's sample spacing this far from nominal is not believed, and nominal is used."""
_LATE_PACKETS = 8
"""A packet further behind than this is no late one but a device that began anew, whose counters start at zero too."""
_LONGEST_STALL_S = 60.0
"""How late a packet may be within a connection: a radio that repeats, a program that hung."""
_RELINK_TOLERANCE_S = 0.5
"""The same from the last packet of a connection to the first of the next. A board that loses its power as soon as it sends is
back within a second, at the same count."""
_CLOCK_TOLERANCE = 1e-3
"""Device and host clock, as a share of the time between; a poor crystal is within a tenth of it."""
_LOWEST_COUNT, _HIGHEST_COUNT = -32768, 32767


@dataclass(slots=True)
class _Last:
    sequence: int
    clock_us: int
    device_s: float
    n_samples: int
    arrival_ns: int


class Decoder:
    """Stateful decoder of one sensor. `push` gives the items of one packet, in order."""

    def __init__(self, profile: Profile) -> None:
        self._profile = profile
        self._last: _Last | None = None
        self._relinked = False
        self.n_duplicates = 0

    def link_again(self) -> None:
        """A connection was made: what comes next is not of an earlier one, and perhaps not of the same run of the device."""
        self._relinked = True

    def push(self, packet: RawPacket) -> tuple[DecodedItem, ...]:
        """Decode one notification."""
        try:
            unpacked = self._profile.unpack(packet.payload)
        except DecodeError as error:
            return (Malformed(arrival_ns=packet.arrival_ns, sensor=packet.sensor, problem=error.problem),)
        last = self._last
        relinked, self._relinked = self._relinked, False
        if last is None:
            return (self._reading(packet, unpacked, last_device_s=None, n_packets=1),)
        n_packets = (unpacked.sequence - last.sequence) % self._profile.sequence_modulus
        elapsed_s = ((unpacked.clock_us - last.clock_us) % self._profile.clock_modulus_us) * 1e-6
        expected_s = n_packets * last.n_samples / self._profile.nominal_rate_hz
        if not relinked and self._is_behind(last, n_packets, elapsed_s):
            self.n_duplicates += 1
            return ()
        restarted = (
            n_packets == 0
            or abs(elapsed_s - expected_s) > _RESTART_TOLERANCE_S + _RATE_TOLERANCE * expected_s
            or _host_objects(elapsed_s, (packet.arrival_ns - last.arrival_ns) * 1e-9, relinked=relinked)
        )
        if restarted:
            gap = Gap(arrival_ns=packet.arrival_ns, sensor=packet.sensor, n_lost=0, restarted=True)
            return (gap, self._reading(packet, unpacked, last_device_s=None, n_packets=1))
        last_device_s = last.device_s
        if n_packets == 1:
            return (self._reading(packet, unpacked, last_device_s=last_device_s, n_packets=1),)
        gap = Gap(arrival_ns=packet.arrival_ns, sensor=packet.sensor, n_lost=(n_packets - 1) * last.n_samples)
        return (gap, self._reading(packet, unpacked, last_device_s=last_device_s, n_packets=n_packets))

    def _is_behind(self, last: _Last, n_packets: int, elapsed_s: float) -> bool:
        """Tell whether counter and clock agree that this packet is the newest again, or came a few packets earlier."""
        back_packets = -n_packets % self._profile.sequence_modulus
        if back_packets > _LATE_PACKETS:
            return False
        back_s = -elapsed_s % (self._profile.clock_modulus_us * 1e-6)
        expected_s = back_packets * last.n_samples / self._profile.nominal_rate_hz
        return abs(back_s - expected_s) <= 0.5 * expected_s

    def _reading(
        self, packet: RawPacket, unpacked: Unpacked, *, last_device_s: float | None, n_packets: int
    ) -> Reading:
        profile = self._profile
        n = len(unpacked.counts)
        spacing_s = 1.0 / profile.nominal_rate_hz
        if last_device_s is None or self._last is None:
            end_s = unpacked.clock_us * 1e-6
        else:
            elapsed_us = (unpacked.clock_us - self._last.clock_us) % profile.clock_modulus_us
            end_s = last_device_s + elapsed_us * 1e-6
            measured_s = (end_s - last_device_s) / (n_packets * n)
            if abs(measured_s - spacing_s) < _RATE_TOLERANCE * spacing_s:
                spacing_s = measured_s
        device_s = end_s - spacing_s * np.arange(n - 1, -1, -1, dtype=np.float64)
        self._last = _Last(
            sequence=unpacked.sequence,
            clock_us=unpacked.clock_us,
            device_s=end_s,
            n_samples=n,
            arrival_ns=packet.arrival_ns,
        )
        counts = unpacked.counts.astype(np.float64)
        gyr_counts = unpacked.counts[:, :3]
        return Reading(
            arrival_ns=packet.arrival_ns,
            sensor=packet.sensor,
            device_s=device_s,
            gyr_sensor_rad_s=counts[:, :3] * profile.gyr_rad_s_per_count,
            acc_sensor_m_s2=counts[:, 3:] * profile.acc_m_s2_per_count,
            saturated=bool(gyr_counts.min() <= _LOWEST_COUNT or gyr_counts.max() >= _HIGHEST_COUNT),
        )


def _host_objects(elapsed_s: float, host_s: float, *, relinked: bool) -> bool:
    """Tell whether the device clock cannot have gone on for `elapsed_s` while the host's went on for `host_s`."""
    ahead_s = elapsed_s - host_s
    if relinked:
        return abs(ahead_s) > _RELINK_TOLERANCE_S + _CLOCK_TOLERANCE * host_s
    return ahead_s > _LONGEST_STALL_S + _CLOCK_TOLERANCE * host_s


def decoder_for(profile: AnyProfile) -> Decoder | TimedDecoder:
    """Give a fresh decoder for a sensor of this profile."""
    return Decoder(profile) if isinstance(profile, Profile) else TimedDecoder(profile)
