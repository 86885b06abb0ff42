"""Packets with a stamp each and no counter, to readings. The stamps alone tell what is missing.

Rule 1: a packet with the stamp of the newest one, or of one a few packets earlier, is a duplicate or late: dropped, counted.
Rule 2: a step of the stamps of more than the samples between them take is a `Gap` of as many samples as would fit in.
Rule 3: a step that the moments of arrival contradict, further back, or too short for the samples between, is a restart:
nothing is bridged.
"""

from __future__ import annotations

from typing import Final

from sensors.decode.intake import Intake, reading
from sensors.decode.packet_clock import PacketClock, contradicts
from sensors.events import RawPacket
from sensors.profiles.base import Profile
from sensors.profiles.layout import Unpacked
from sensors.readings import Gap, Malformed, Reading

_LATE_PACKETS: Final = 8


class StampedDecoder:
    """Stateful decoder of one sensor. `push` gives the items of one packet, in order."""

    def __init__(self, profile: Profile) -> None:
        self._profile = profile
        self._intake = Intake(profile)
        self._clock = PacketClock(profile)
        self._last_ns: int | None = None
        self.n_duplicates = 0

    def link_again(self) -> None:
        """Nothing to do: a device that began anew shows by its times, whatever the connection."""

    def push(self, packet: RawPacket) -> tuple[Reading | Gap | Malformed, ...]:
        """Decode one notification."""
        malformed, unpacked = self._intake.push(packet)
        if unpacked is None or unpacked.clock is None:
            return malformed
        return (*malformed, *self._ordered(packet, unpacked, unpacked.clock))

    def _ordered(self, packet: RawPacket, unpacked: Unpacked, clock: int) -> tuple[Reading | Gap, ...]:
        n = len(unpacked.gyr)
        if self._last_ns is None:
            self._last_ns = packet.arrival_ns
            return (reading(self._profile, packet, unpacked, self._clock.begin(clock, n)),)
        step_s = self._clock.step_s(clock)
        back_s = self._clock.back_s(step_s)
        waited_s = (packet.arrival_ns - self._last_ns) * 1e-9
        # After a pause of just one round of the clock its stamps look as if they lay behind: the arrivals tell.
        is_behind = step_s == 0.0 or 0.0 < back_s <= _LATE_PACKETS * n * self._clock.usual_s
        if is_behind and (step_s <= 0.0 or contradicts(step_s, waited_s)):
            self.n_duplicates += 1
            return ()
        self._last_ns = packet.arrival_ns
        usual_s, n_between = self._clock.usual_s, self._clock.samples_between(n)
        expected_s = n_between * usual_s
        margin_s = self._clock.rate_doubt * expected_s + 0.5 * usual_s + self._clock.tick_s
        if contradicts(step_s, waited_s) or step_s < expected_s - margin_s:
            gap = Gap(arrival_ns=packet.arrival_ns, sensor=packet.sensor, n_lost=0, restarted=True)
            return (gap, reading(self._profile, packet, unpacked, self._clock.begin(clock, n)))
        if step_s <= expected_s + margin_s:
            return (reading(self._profile, packet, unpacked, self._clock.go_on(clock, step_s, n, n_between)),)
        # Packets of a fixed size are lost whole, which a rate that is known to a per cent may not tell to the sample.
        whole = self._profile.layout.count if isinstance(self._profile.layout.count, int) else 1
        n_lost = whole * max(1, round((step_s - expected_s) / (whole * usual_s)))
        gap = Gap(arrival_ns=packet.arrival_ns, sensor=packet.sensor, n_lost=n_lost)
        return (gap, reading(self._profile, packet, unpacked, self._clock.go_on(clock, step_s, n, None)))
