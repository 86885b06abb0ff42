"""A board of the open profile whose every sample says who it is, and which remembers when it truly took it.

The six counts of a sample are a 96-bit hash of the board and the sample's number: one that is wrong, doubled, swapped or
in the wrong place cannot pass for another. Its clock drifts, its sampling rate is not quite nominal, and it can reboot.
"""

from __future__ import annotations

import asyncio
import hashlib
import itertools
from collections.abc import Iterator
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from sensors.profiles.open_imu import pack
from tests.integration.ble.packet_supply import TimedPayload


@dataclass(frozen=True, slots=True, kw_only=True)
class Quartz:
    """What is not quite nominal in a board."""

    clock_ppm: float
    """Its clock gains this on true time."""
    rate_hz: float
    """Samples a true second; an IMU's own oscillator is a poor one."""
    first_sequence: int
    first_clock_us: int
    """Where its counters stood when the practice began; a reboot sets both to zero."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TracedPacket:
    boot: int
    sequence: int
    """Packets since the board's first boot, or since its last one; never wrapped."""
    numbers: range
    """Of its samples, counted over all boots."""
    counts: NDArray[np.int16] = field(repr=False)
    taken_s: NDArray[np.float64] = field(repr=False)
    """True time of each sample, on the loop's clock."""
    device_s: NDArray[np.float64] = field(repr=False)
    """The same on the board's own clock, unwrapped and unrounded."""


class TracedBoard:
    """Iterate over it to run it, once: it begins at that moment."""

    def __init__(self, index: int, quartz: Quartz, *, samples_per_packet: int) -> None:
        self.quartz = quartz
        self.samples_per_packet = samples_per_packet
        self.packets: dict[bytes, TracedPacket] = {}
        """Everything it ever made, by payload."""
        self.number_of: dict[bytes, int] = {}
        """The number of each sample, by its twelve bytes."""
        self.boot = 0
        self._index = index
        self._booted_s = 0.0

    def reboot(self, at_s: float) -> None:
        """Begin anew at a time of the loop: what was counted is forgotten."""
        self.boot += 1
        self._booted_s = at_s

    def __iter__(self) -> Iterator[TimedPayload]:
        began_s = self._booted_s = asyncio.get_running_loop().time()
        numbers = itertools.count()
        while True:
            yield from self._until_reboot(began_s, numbers)

    def _until_reboot(self, began_s: float, numbers: Iterator[int]) -> Iterator[TimedPayload]:
        quartz, n = self.quartz, self.samples_per_packet
        boot, booted_s = self.boot, self._booted_s
        first_sequence = quartz.first_sequence if boot == 0 else 0
        first_clock_s = quartz.first_clock_us * 1e-6 if boot == 0 else 0.0
        for nth in itertools.count():
            since_boot_s = (nth * n + np.arange(1, n + 1)) / quartz.rate_hz
            mine = list(itertools.islice(numbers, n))
            packet = TracedPacket(
                boot=boot,
                sequence=first_sequence + nth,
                numbers=range(mine[0], mine[-1] + 1),
                counts=np.array([self._counts(number) for number in mine]),
                taken_s=booted_s + since_boot_s,
                device_s=first_clock_s + since_boot_s * (1.0 + quartz.clock_ppm * 1e-6),
            )
            payload = pack(
                sequence=packet.sequence, clock_us=round(float(packet.device_s[-1]) * 1e6), counts=packet.counts
            )
            self.packets[payload] = packet
            yield float(packet.taken_s[-1]) - began_s, payload
            if self.boot != boot:
                return

    def _counts(self, number: int) -> NDArray[np.int16]:
        digest = hashlib.blake2b(f"{self._index}/{number}".encode(), digest_size=12).digest()
        self.number_of[digest] = number
        return np.frombuffer(digest, dtype="<i2")
