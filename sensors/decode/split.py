"""Messages that are longer than one notification, put together again.

Rule 1: only a part that follows at once is believed: after half the time that the message's samples took, the rest is lost.
Without numbers on the parts nothing else tells that a part and the next message's beginning were both lost.
Rule 2: a message of another length than its header says is dropped whole, never cut or filled.
"""

from __future__ import annotations

from sensors.errors import DecodeError
from sensors.profiles.base import Profile, Split

_PATIENCE = 0.5
"""As a share of the time that the samples of a message take."""


class Assembler:
    """One sensor's parts in, whole messages out."""

    def __init__(self, profile: Profile, split: Split) -> None:
        self._layout = profile.layout
        self._split = split
        self._sample_s = 1.0 / profile.nominal_rate_hz
        self._open = b""
        self._n_parts = 0
        self._began_ns = 0

    def push(self, payload: bytes, arrival_ns: int) -> tuple[bytes | None, str]:
        """Give a whole message or None while one is under way, and what was wrong; raises `DecodeError` for a bad beginning."""
        if not payload.startswith(self._split.continues):
            problem = "a message began before the last one was whole" if self._open else ""
            self._open, self._n_parts, self._began_ns = payload, 1, arrival_ns
            return self._whole(), problem
        if not self._open:
            return None, "a continuation of nothing"
        n_samples = self._expected_samples()
        late_s = (arrival_ns - self._began_ns) * 1e-9
        if n_samples is not None and late_s > _PATIENCE * n_samples * self._sample_s:
            self._open = b""
            return None, "a continuation too late to belong to its beginning"
        self._open += payload[len(self._split.continues) :]
        self._n_parts += 1
        return self._whole(), ""

    def _whole(self) -> bytes | None:
        begun = self._open
        try:
            expected = self._layout.expected_bytes(begun)
        except DecodeError:
            self._open = b""
            raise
        if expected is None and self._n_parts < self._split.most_parts:
            return None
        if expected is not None and len(begun) < expected and self._n_parts < self._split.most_parts:
            return None
        self._open = b""
        return begun  # too long, or too short for its last part: the layout refuses it

    def _expected_samples(self) -> int | None:
        expected = self._layout.expected_bytes(self._open)
        return None if expected is None else (expected - self._layout.header_bytes) // self._layout.sample_bytes
