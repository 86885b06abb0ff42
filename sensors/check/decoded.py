"""A whole capture decoded at once, with the books kept: what the checks look at."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sensors.decode.decoder import decoder_for
from sensors.events import RawPacket
from sensors.profiles.base import Profile
from sensors.readings import Gap, Malformed, Reading


@dataclass(frozen=True, slots=True, kw_only=True)
class PacketProblem:
    """What was wrong with one notification."""

    number: int
    """Counted from 1."""
    arrival_s: float
    """Since the first one."""
    problem: str
    payload: bytes


@dataclass(frozen=True, slots=True, kw_only=True)
class Decoded:
    """Everything that came out of one sensor's packets."""

    n_packets: int
    problems: tuple[PacketProblem, ...]
    n_ignored: int
    """Passed over, as the profile says."""
    n_duplicates: int
    n_lost: int | None
    n_gaps: int
    n_restarts: int
    n_saturated: int
    """Readings with a rate at the end of its range."""
    arrival_span_s: float
    """From the first reading's arrival to the last one's."""
    n_first: int
    """Samples of the first reading: they were taken before that span."""
    device_s: NDArray[np.float64]
    """Shape (n,)."""
    gyr_rad_s: NDArray[np.float64]
    """Shape (n, 3)."""
    acc_m_s2: NDArray[np.float64]
    stretches: tuple[slice, ...]
    """Where samples follow each other without a gap."""

    @property
    def n_samples(self) -> int:
        """How many."""
        return len(self.device_s)

    @property
    def longest_samples(self) -> int:
        """Length of the longest unbroken stretch."""
        return max((one.stop - one.start for one in self.stretches), default=0)

    @property
    def device_rate_hz(self) -> float | None:
        """Samples a second by the device's own clock, over unbroken stretches; None when there are too few."""
        n = sum(one.stop - one.start - 1 for one in self.stretches)
        span_s = sum(float(self.device_s[one.stop - 1] - self.device_s[one.start]) for one in self.stretches)
        return n / span_s if n > 0 and span_s > 0.0 else None

    @property
    def arrival_rate_hz(self) -> float | None:
        """Samples a second by the clock of the computer; None when there are too few."""
        return (self.n_samples - self.n_first) / self.arrival_span_s if self.arrival_span_s > 0.5 else None


def decode_all(profile: Profile, packets: Sequence[RawPacket]) -> Decoded:
    """Decode one sensor's packets, at least one, in order of arrival."""
    decoder = decoder_for(profile)
    readings: list[Reading] = []
    problems: list[PacketProblem] = []
    breaks: list[int] = []
    n_lost = n_gaps = n_restarts = n_samples = 0
    for number, packet in enumerate(packets, 1):
        for item in decoder.push(packet):
            match item:
                case Reading():
                    readings.append(item)
                    n_samples += len(item.device_s)
                case Gap():
                    breaks.append(n_samples)
                    n_lost += item.n_lost
                    n_gaps += not item.restarted
                    n_restarts += item.restarted
                case Malformed():
                    at_s = (packet.arrival_ns - packets[0].arrival_ns) * 1e-9
                    problems.append(
                        PacketProblem(number=number, arrival_s=at_s, problem=item.problem, payload=packet.payload)
                    )
    edges = [0, *(at for at in dict.fromkeys(breaks) if 0 < at < n_samples), n_samples]
    return Decoded(
        n_packets=len(packets),
        problems=tuple(problems),
        n_ignored=sum(packet.payload.startswith(profile.ignored) for packet in packets),
        n_duplicates=decoder.n_duplicates,
        n_lost=n_lost if profile.shows_loss else None,
        n_gaps=n_gaps,
        n_restarts=n_restarts,
        n_saturated=sum(one.saturated for one in readings),
        arrival_span_s=(readings[-1].arrival_ns - readings[0].arrival_ns) * 1e-9 if readings else 0.0,
        n_first=len(readings[0].device_s) if readings else 0,
        device_s=np.concatenate([one.device_s for one in readings] or [np.empty(0)]),
        gyr_rad_s=np.concatenate([one.gyr_sensor_rad_s for one in readings] or [np.empty((0, 3))]),
        acc_m_s2=np.concatenate([one.acc_sensor_m_s2 for one in readings] or [np.empty((0, 3))]),
        stretches=tuple(slice(a, b) for a, b in itertools.pairwise(edges) if b > a),
    )
