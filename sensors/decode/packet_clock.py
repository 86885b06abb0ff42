"""Sample times from one device stamp a packet, its first sample's or its last's: unwrapped, and spread by the measured rate."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

from sensors.profiles.base import ClockKind, Profile

RATE_TOLERANCE: Final = 0.25
"""A packet's sample spacing this far from nominal is not believed, and nominal is used."""
_COARSE_TICK_S: Final = 1e-4
"""A clock of longer ticks is smoothed: its stamps step where the samples do not."""
_SPACING_GAIN: Final = 0.02
_STAMP_GAIN: Final = 0.1


_ARRIVAL_TOLERANCE_S: Final = 2.0
"""How much later than its like a packet may come: what a radio holds back in its longest fade."""
_ARRIVAL_TOLERANCE: Final = 0.05


def contradicts(step_s: float, waited_s: float) -> bool:
    """Tell whether a step of the device's clock cannot be, given the time between the arrivals."""
    return abs(step_s - waited_s) > _ARRIVAL_TOLERANCE_S + _ARRIVAL_TOLERANCE * waited_s


@dataclass(slots=True)
class _Last:
    clock: int
    stamp_s: float
    """As the device says it, unwrapped."""
    believed_s: float
    """The same; smoothed for a coarse clock."""
    n_samples: int


class PacketClock:
    """One sensor's clock. `begin` for its first packet and after a restart, `go_on` for every other."""

    def __init__(self, profile: Profile) -> None:
        self._of_last = profile.clock.kind is ClockKind.PER_PACKET_LAST
        self._tick_s = profile.clock.tick_s
        self._modulus = profile.clock.modulus
        self._wrap_s = self._modulus * self._tick_s
        self._nominal_s = 1.0 / profile.nominal_rate_hz
        self._coarse = self._tick_s >= _COARSE_TICK_S
        self._last: _Last | None = None
        self._usual_s: float | None = None
        self._n_measured = 0
        self._measured_s = 0.0
        """How long the rate has been measured for."""
        self._end_s = 0.0
        """Time of the newest sample, of packets stamped at their first."""

    @property
    def usual_s(self) -> float:
        """Sample spacing as it has turned out so far; nominal at first."""
        return self._usual_s if self._usual_s is not None else self._nominal_s

    @property
    def rate_doubt(self) -> float:
        """How far `usual_s` may be from the truth, as a share of it."""
        return RATE_TOLERANCE if self._usual_s is None else 0.02 + self._tick_s / self._measured_s

    @property
    def tick_s(self) -> float:
        """Resolution."""
        return self._tick_s

    def step_s(self, clock: int) -> float:
        """Time from the last packet's stamp to this one's: as if forward if the clock wraps, else possibly below zero."""
        last = self._last
        if last is None:
            return 0.0
        ticks = clock - last.clock
        return (ticks % self._modulus if self._modulus else ticks) * self._tick_s

    def back_s(self, step_s: float) -> float:
        """How far a stamp lies behind the last one, if it does, from its `step_s`."""
        return self._wrap_s - step_s if step_s else 0.0

    def begin(self, clock: int, n: int) -> NDArray[np.float64]:
        """Device time of each sample of a packet that nothing precedes, seconds, shape (n,)."""
        stamp_s = clock * self._tick_s
        spacing_s = self.usual_s if self._coarse else self._nominal_s
        return self._samples(clock, stamp_s, stamp_s, n, spacing_s, continues=False)

    def go_on(self, clock: int, step_s: float, n: int, n_between: int | None) -> NDArray[np.float64]:
        """Device time of each sample, `step_s` as of `clock`; `n_between` samples lie between the stamps, None if unknown."""
        last = self._last
        if last is None:
            return self.begin(clock, n)
        stamp_s = last.stamp_s + step_s
        spacing_s = self._nominal_s
        if n_between is not None:
            measured_s = (stamp_s - last.stamp_s) / n_between
            if abs(measured_s - self._nominal_s) < RATE_TOLERANCE * self._nominal_s:
                spacing_s = measured_s
                self._n_measured += 1
                self._measured_s += stamp_s - last.stamp_s
                gain = max(_SPACING_GAIN, 1.0 / self._n_measured)
                self._usual_s = self.usual_s + gain * (measured_s - self.usual_s)
        believed_s = stamp_s
        if self._coarse:
            spacing_s = self.usual_s
            if n_between is not None:
                believed_s = self._smoothed(stamp_s, last.believed_s + n_between * spacing_s)
        return self._samples(clock, stamp_s, believed_s, n, spacing_s, continues=True)

    def samples_between(self, n: int) -> int:
        """How many samples lie between the last packet's stamp and that of a packet of `n` that follows at once."""
        return n if self._of_last or self._last is None else self._last.n_samples

    def _smoothed(self, stamp_s: float, predicted_s: float) -> float:
        """Within a tick of what the rate predicts, the prediction is the better time of the two."""
        error_s = stamp_s - predicted_s
        return predicted_s + _STAMP_GAIN * error_s if abs(error_s) <= self._tick_s else stamp_s

    def _samples(
        self, clock: int, stamp_s: float, believed_s: float, n: int, spacing_s: float, *, continues: bool
    ) -> NDArray[np.float64]:
        self._last = _Last(clock, stamp_s, believed_s, n)
        if self._of_last:
            return believed_s - spacing_s * _numbers(n)[1]
        times_s = believed_s + spacing_s * _numbers(n)[0]
        if continues:
            # A packet's end is reckoned by the rate: before that has been measured it may reach past the next one's stamp.
            end_s = self._end_s
            if believed_s <= end_s < times_s[-1]:
                times_s = end_s + (times_s[-1] - end_s) * (_numbers(n)[0] + 1.0) / n
        self._end_s = float(times_s[-1])
        return times_s


@lru_cache(maxsize=256)
def _numbers(n: int) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Give 0 to n - 1 upward and downward: made once, as it would cost more than the sum it is for."""
    return np.arange(n, dtype=np.float64), np.arange(n - 1, -1, -1, dtype=np.float64)
