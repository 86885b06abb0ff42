"""An LSM6DS3TR-C as its bus shows it: registers, and a FIFO that fills as time passes.

FIFO and registers as in the data sheet (STMicroelectronics DocID030071), from memory: 2048 words; in continuous mode the
oldest are overwritten, which OVER_RUN tells; the count of words has eleven bits, so a full FIFO counts 0; the pattern
register names the next word, 0 to 5 for gyroscope x y z, accelerometer x y z.

Each sample names itself: accelerometer x and y hold its number, z the life of the part that it belongs to.
"""

from __future__ import annotations

from collections import deque

import numpy as np

FIFO_WORDS = 2048
RATES_HZ = {3: 52.0, 4: 104.0, 5: 208.0, 6: 416.0}
"""By rate code, FIFO and sensors alike."""
BYTE_US = 9 / 0.4
"""Nine clocks of a bus at 400 kHz."""


_RATES = np.random.default_rng(20).integers(-32768, 32768, (4093, 3)).tolist()


def raw_sample(life: int, number: int) -> list[int]:
    """Any rates, the ends of the range among them; then who it is, as signed words."""
    words = (number & 0xFFFF, number >> 16, life)
    return [*_RATES[(number + 7 * life) % len(_RATES)], *((word ^ 0x8000) - 0x8000 for word in words)]


class FakeImu:
    def __init__(self, *, rate_error: float = 0.0, phase: float = 0.5) -> None:
        self.now_us = 1_000_000.0
        self.registers = {0x0F: 0x6A}
        self.rate_error = rate_error
        self.phase = phase
        """Where in a spacing the first sample falls after switching on."""
        self.life = 0
        """Counts how often its sensors were set up: each time its sampling begins anew."""
        self.times_us: dict[tuple[int, int], float] = {}
        """When each sample was taken."""
        self.fails = 0
        """So many bus transfers are going to fail."""
        self.n_overruns = 0
        self.threshold_us: float | None = None
        """When the FIFO last rose to its threshold."""
        self._words: deque[int] = deque()
        self._first_axis = 0
        self._over_run = False
        self._next_us = 0.0
        self._number = 0

    # time

    @property
    def spacing_us(self) -> float | None:
        """None while the sensors are off."""
        rate_hz = RATES_HZ.get(self.registers.get(0x10, 0) >> 4)
        if rate_hz is None or self.registers.get(0x11, 0) >> 4 != self.registers[0x10] >> 4:
            return None
        return 1e6 / (rate_hz * (1.0 + self.rate_error))

    @property
    def threshold_words(self) -> int:
        return self.registers.get(0x06, 0) | (self.registers.get(0x07, 0) & 7) << 8

    @property
    def int1(self) -> bool:
        return bool(self.registers.get(0x0D, 0) & 8) and len(self._words) >= self.threshold_words > 0

    @property
    def next_us(self) -> float:
        return self._next_us if self.spacing_us is not None else float("inf")

    def pass_to(self, at_us: float) -> None:
        """Let time pass, and samples with it."""
        spacing_us = self.spacing_us
        while spacing_us is not None and self._next_us <= at_us:
            self._take(self._next_us)
            self._next_us += spacing_us
        self.now_us = max(self.now_us, at_us)

    def _take(self, at_us: float) -> None:
        self.times_us[self.life, self._number] = at_us
        if self.registers.get(0x0A, 0) & 7 == 6:
            was_below = not self.int1
            self._words.extend(raw_sample(self.life, self._number))
            while len(self._words) > FIFO_WORDS:
                self._words.popleft()
                self._first_axis = (self._first_axis + 1) % 6
                self.n_overruns += not self._over_run
                self._over_run = True
            if was_below and self.int1:
                self.threshold_us = at_us
        self._number += 1

    def brown_out(self) -> None:
        """Its supply fails for a moment: settings and contents are gone."""
        self.registers = {0x0F: 0x6A}
        self._empty()

    def _empty(self) -> None:
        self._words.clear()
        self._first_axis = 0
        self._over_run = False

    # bus

    def read(self, register: int, n: int) -> bytes | None:
        self.pass_to(self.now_us + BYTE_US * (n + 3))
        if self.fails:
            self.fails -= 1
            if register == 0x3E and self._words:  # it broke off in the middle
                self._word()
            return None
        if register == 0x3E:
            return b"".join(self._word().to_bytes(2, "little", signed=True) for _ in range(n // 2))
        if register == 0x3A:
            n_words = len(self._words)
            self_status = (n_words & 0x7FF) | self._over_run << 14 | (n_words == 0) << 12 | self.int1 << 15
            return self_status.to_bytes(2, "little") + self._first_axis.to_bytes(2, "little")
        return bytes(self.registers.get(register + i, 0) for i in range(n))

    def _word(self) -> int:
        if not self._words:
            return 0
        self._over_run = False
        self._first_axis = (self._first_axis + 1) % 6
        return self._words.popleft()

    def write(self, register: int, value: int) -> bool:
        self.pass_to(self.now_us + BYTE_US * 3)
        if self.fails:
            self.fails -= 1
            return False
        self.registers[register] = value
        if register == 0x0A and value & 7 == 0:
            self._empty()
        if register in (0x10, 0x11) and self.spacing_us is not None:
            self.life += 1
            self._number = 0
            self._next_us = self.now_us + self.spacing_us * self.phase
        return True
