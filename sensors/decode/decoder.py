"""One sensor's payloads to readings: unpack, order, unwrap, scale. Whatever the radio does, no sample comes out twice.

This decoder is for packets with a counter and a stamp each; others stand beside it, `decoder_for` chooses.

Rule 1: a packet whose sequence number lies behind the newest one is a duplicate or late; it is dropped and counted.
Rule 2: a step of `n` packets forward is a `Gap` of `n - 1` packets, placed before the reading that ends it.
Rule 3: a sequence step that the device clock contradicts, or a clock step that the host's clock contradicts, is a restart:
counters begin anew, nothing is bridged. Within a connection a packet may come however late, so there the host only sees a
clock that ran ahead of it; from one connection to the next nothing is under way, and both clocks must have gone alike.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from sensors.decode.arrival import ArrivalDecoder
from sensors.decode.intake import Intake, reading
from sensors.decode.packet_clock import RATE_TOLERANCE, PacketClock
from sensors.decode.per_sample import PerSampleDecoder
from sensors.decode.stamped import StampedDecoder
from sensors.decode.timed import TimedDecoder
from sensors.events import RawPacket
from sensors.profiles.base import AnyProfile, ClockKind, Profile
from sensors.profiles.layout import Unpacked
from sensors.readings import Gap, Malformed, Reading

DecodedItem = Reading | Gap | Malformed

_RESTART_TOLERANCE_S: Final = 1.0
"""How far the device clock may be from what the sequence step implies before it is a restart."""
_LATE_PACKETS: Final = 8
"""A packet further behind than this is no late one but a device that began anew, whose counters start at zero too."""
_LONGEST_STALL_S: Final = 60.0
"""How late a packet may be within a connection: a radio that repeats, a program that hung."""
_RELINK_AHEAD_S: Final = 0.5
_RELINK_BEHIND_S: Final = 0.3
"""The same from the last packet of a connection, which may have been late, to the first of the next, which is seldom: by how
much the device's clock may have gone on further, or less far, than the host's. A board that loses its power as soon as it sends
is back within a second, at the same count."""
_CLOCK_TOLERANCE: Final = 1e-3
"""Device and host clock, as a share of the time between; a poor crystal is within a tenth of it."""


@dataclass(slots=True)
class _Last:
    sequence: int
    n_samples: int
    arrival_ns: int


class Decoder:
    """Stateful decoder of one sensor. `push` gives the items of one packet, in order."""

    def __init__(self, profile: Profile) -> None:
        if profile.sequence_modulus is None:
            raise ValueError(f"{profile.name} has no sequence")
        self._profile = profile
        self._sequence_modulus = profile.sequence_modulus
        self._rate_hz = profile.nominal_rate_hz
        self._intake = Intake(profile)
        self._clock = PacketClock(profile)
        self._last: _Last | None = None
        self._relinked = False
        self.n_duplicates = 0

    def link_again(self) -> None:
        """A connection was made: what comes next is not of an earlier one, and perhaps not of the same run of the device."""
        self._relinked = True

    def push(self, packet: RawPacket) -> tuple[DecodedItem, ...]:
        """Decode one notification."""
        malformed, unpacked = self._intake.push(packet)
        if unpacked is None or unpacked.sequence is None or unpacked.clock is None:
            return malformed
        items = self._ordered(packet, unpacked, unpacked.sequence, unpacked.clock)
        return (*malformed, *items) if malformed else items

    def _ordered(self, packet: RawPacket, unpacked: Unpacked, sequence: int, clock: int) -> tuple[Reading | Gap, ...]:
        n = len(unpacked.gyr)
        last = self._last
        relinked, self._relinked = self._relinked, False
        if last is None:
            self._last = _Last(sequence, n, packet.arrival_ns)
            return (reading(self._profile, packet, unpacked, self._clock.begin(clock, n)),)
        n_packets = (sequence - last.sequence) % self._sequence_modulus
        step_s = self._clock.step_s(clock)
        if not relinked and self._is_behind(last, n_packets, step_s):
            self.n_duplicates += 1
            return ()
        self._last = _Last(sequence, n, packet.arrival_ns)
        expected_s = n_packets * last.n_samples / self._rate_hz
        restarted = (
            n_packets == 0
            or abs(step_s - expected_s) > _RESTART_TOLERANCE_S + RATE_TOLERANCE * expected_s
            or _host_objects(step_s, (packet.arrival_ns - last.arrival_ns) * 1e-9, relinked=relinked)
        )
        if restarted:
            gap = Gap(arrival_ns=packet.arrival_ns, sensor=packet.sensor, n_lost=0, restarted=True)
            return (gap, reading(self._profile, packet, unpacked, self._clock.begin(clock, n)))
        device_s = self._clock.go_on(clock, step_s, n, n_packets * self._clock.samples_between(n))
        whole = reading(self._profile, packet, unpacked, device_s)
        if n_packets == 1:
            return (whole,)
        gap = Gap(arrival_ns=packet.arrival_ns, sensor=packet.sensor, n_lost=(n_packets - 1) * last.n_samples)
        return (gap, whole)

    def _is_behind(self, last: _Last, n_packets: int, step_s: float) -> bool:
        """Tell whether counter and clock agree that this packet is the newest again, or came a few packets earlier."""
        back_packets = -n_packets % self._sequence_modulus
        if back_packets > _LATE_PACKETS:
            return False
        expected_s = back_packets * last.n_samples / self._rate_hz
        return abs(self._clock.back_s(step_s) - expected_s) <= 0.5 * expected_s


def _host_objects(elapsed_s: float, host_s: float, *, relinked: bool) -> bool:
    """Tell whether the device clock cannot have gone on for `elapsed_s` while the host's went on for `host_s`."""
    ahead_s = elapsed_s - host_s
    if relinked:
        slack_s = _CLOCK_TOLERANCE * host_s
        return not -_RELINK_BEHIND_S - slack_s <= ahead_s <= _RELINK_AHEAD_S + slack_s
    return ahead_s > _LONGEST_STALL_S + _CLOCK_TOLERANCE * host_s


AnyDecoder = Decoder | StampedDecoder | ArrivalDecoder | PerSampleDecoder | TimedDecoder


def decoder_for(profile: AnyProfile) -> AnyDecoder:
    """Give a fresh decoder for a sensor of this profile."""
    if not isinstance(profile, Profile):
        return TimedDecoder(profile)
    match profile.clock.kind:
        case ClockKind.PER_SAMPLE:
            return PerSampleDecoder(profile)
        case ClockKind.NONE:
            return ArrivalDecoder(profile)
        case _:
            return StampedDecoder(profile) if profile.sequence_modulus is None else Decoder(profile)
