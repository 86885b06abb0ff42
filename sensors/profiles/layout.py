"""How one notification lies in bytes, as data: header fields, then samples. `Layout.unpack` reads any of them with numpy."""

from __future__ import annotations

import struct
from collections.abc import Callable
from dataclasses import dataclass, field, fields
from typing import Any, Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from sensors.errors import DecodeError
from sensors.profiles.write import NUMBER_CODES

REST: Final = "rest"
"""As many samples as the notification holds."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Field:
    """One number, or `n` of a kind."""

    name: str
    number_type: str
    """A key of `NUMBER_CODES`."""
    n: int = 1
    low: int | None = None
    """The lowest value allowed, of a header field; None for any."""
    high: int | None = None

    @property
    def is_float(self) -> bool:
        """Whether it holds floating point."""
        return self.number_type.startswith("f")


class Unpacked(NamedTuple):
    """One notification in its own terms: raw numbers, wrapped counters, the device's axes."""

    sequence: int | None
    clock: int | None
    """Device clock at the packet's stamped sample, in its own ticks, wrapped; None without a clock per packet."""
    sample_clock: NDArray[np.int64] | None
    """Device clock of each sample, shape (n,), wrapped; None without a clock per sample."""
    gyr: NDArray[np.generic]
    """Shape (n, 3), in whatever type the notification has."""
    acc: NDArray[np.generic]


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """Header fields, then samples: whole ones one after the other, or (`blocks`) each field for all samples in turn."""

    profile: str
    """Whose it is, for errors."""
    byte_order: str
    header: tuple[Field, ...]
    sample: tuple[Field, ...]
    blocks: bool
    count: int | str
    """Samples in a notification: a number, the name of a header field, or `REST`."""
    most_samples: int
    sequence_field: str | None = None
    clock_field: str | None = None
    """In the header, or in the sample for a clock per sample."""
    largest_gyr: float | None = None
    """Raw numbers of more than this size are no measurement at all; None for whole numbers."""
    largest_acc: float | None = None
    _header_struct: struct.Struct = field(init=False, compare=False)
    _sizes: tuple[int, int] = field(init=False, compare=False)
    """Bytes of the header, and of one sample."""
    _checks: tuple[tuple[int, Field], ...] = field(init=False, compare=False)
    _index: dict[str, int] = field(init=False, compare=False)
    _sample_type: np.dtype[np.void] = field(init=False, compare=False)
    _at: tuple[int | None, int | None, int | None] = field(init=False, compare=False)
    _columns: tuple[np.dtype[np.generic], int, slice, slice] | None = field(init=False, compare=False)
    """Type, width and places of the fields when all numbers of a sample are of one type: reading them so is the fastest."""

    def __post_init__(self) -> None:
        index: dict[str, int] = {}
        position = 0
        for one in self.header:
            index[one.name] = position
            position += one.n
        codes = "".join(f"{one.n}{NUMBER_CODES[one.number_type]}" for one in self.header)
        kinds = [
            (one.name, np.dtype(self.byte_order + NUMBER_CODES[one.number_type]), (one.n,) if one.n > 1 else ())
            for one in self.sample
        ]
        checks = tuple((index[one.name], one) for one in self.header if one.low is not None or one.high is not None)
        set_once = object.__setattr__
        set_once(self, "_header_struct", struct.Struct(self.byte_order + codes))
        set_once(self, "_checks", checks)
        set_once(self, "_sizes", (struct.calcsize(self.byte_order + codes), np.dtype(kinds).itemsize))
        set_once(self, "_index", index)
        set_once(self, "_sample_type", np.dtype(kinds))
        set_once(self, "_columns", self._as_columns())
        set_once(
            self,
            "_at",
            (
                index.get(str(self.count)),
                index.get(self.sequence_field) if self.sequence_field else None,
                index.get(self.clock_field) if self.clock_field else None,
            ),
        )

    def __reduce__(self) -> tuple[Callable[..., Layout], tuple[dict[str, Any]]]:
        """Save what it was made from: a compiled header cannot be pickled."""
        return _made_again, ({one.name: getattr(self, one.name) for one in fields(self) if one.init},)

    @property
    def header_bytes(self) -> int:
        """Length of the header."""
        return self._header_struct.size

    @property
    def sample_bytes(self) -> int:
        """Length of one sample."""
        return self._sample_type.itemsize

    def expected_bytes(self, begun: bytes) -> int | None:
        """Give the length of the whole message of which these are the first bytes; None while that cannot be told.

        Raises `DecodeError` when they begin no message of this layout. Not for a layout whose count is `REST`.
        """
        if len(begun) < self.header_bytes:
            return None
        return self.header_bytes + self._count(begun, self._header(begun)) * self.sample_bytes

    def unpack(self, payload: bytes) -> Unpacked:
        """Split one notification; raises `DecodeError` unless header, count and length agree and floats are finite."""
        header_bytes, sample_bytes = self._sizes
        if len(payload) < header_bytes:
            raise DecodeError(
                self.profile, f"it has {len(payload)} bytes, less than the {header_bytes} before its samples", payload
            )
        header = self._header(payload)
        count = self._count(payload, header)
        if len(payload) != header_bytes + count * sample_bytes:
            raise DecodeError(
                self.profile,
                f"it has {len(payload)} bytes, not {header_bytes + count * sample_bytes}: {self._made_of(count)}",
                payload,
            )
        sample_clock = None
        _, sequence_at, clock_at = self._at
        if self._columns is not None:
            kind, width, gyr_place, acc_place = self._columns
            rows = np.frombuffer(payload, kind, -1, header_bytes).reshape(count, width)
            gyr, acc = rows[:, gyr_place], rows[:, acc_place]
        else:
            samples = self._fields_of(payload, count)
            gyr, acc = samples["gyr"], samples["acc"]
            if self.clock_field is not None and clock_at is None:
                sample_clock = samples[self.clock_field].astype(np.int64)
        if self.largest_gyr is not None or self.largest_acc is not None:
            self._believe(gyr, self.largest_gyr, payload)
            self._believe(acc, self.largest_acc, payload)
        sequence = None if sequence_at is None else header[sequence_at]
        return Unpacked(sequence, None if clock_at is None else header[clock_at], sample_clock, gyr, acc)

    def _believe(self, values: NDArray[np.generic], largest: float | None, payload: bytes) -> None:
        if largest is not None and not (np.abs(values) <= largest).all():  # nan is not below it either
            raise DecodeError(
                self.profile, "a value is no finite number, or far beyond what such a sensor measures", payload
            )

    def _header(self, payload: bytes) -> tuple[int, ...]:
        values = self._header_struct.unpack_from(payload)
        for at, one in self._checks:
            value = values[at]
            if (one.low is not None and value < one.low) or (one.high is not None and value > one.high):
                raise DecodeError(self.profile, f"{one.name} is {value}, {_allowed(one)}", payload)
        return values

    def _count(self, payload: bytes, header: tuple[int, ...]) -> int:
        at = self._at[0]
        if at is not None:
            count = header[at]
        elif isinstance(self.count, int):
            return self.count
        else:
            count, over = divmod(len(payload) - self._sizes[0], self._sizes[1])
            if over:
                raise DecodeError(
                    self.profile, f"it has {len(payload)} bytes, which {self._made_of(None)} never make", payload
                )
        if not 1 <= count <= self.most_samples:
            raise DecodeError(self.profile, f"{count} samples announced, 1 to {self.most_samples} allowed", payload)
        return count

    def _made_of(self, count: int | None) -> str:
        samples = "samples" if count is None else "1 sample" if count == 1 else f"{count} samples"
        return f"a header of {self._sizes[0]} and {samples} of {self._sizes[1]}"

    def _as_columns(self) -> tuple[np.dtype[np.generic], int, slice, slice] | None:
        clock_in_sample = self.clock_field is not None and all(one.name != self.clock_field for one in self.header)
        if self.blocks or clock_in_sample or len({one.number_type for one in self.sample}) != 1:
            return None
        places: dict[str, slice] = {}
        width = 0
        for one in self.sample:
            places[one.name] = slice(width, width + one.n)
            width += one.n
        kind = np.dtype(self.byte_order + NUMBER_CODES[self.sample[0].number_type])
        return kind, width, places["gyr"], places["acc"]

    def _fields_of(self, payload: bytes, count: int) -> dict[str, NDArray[np.generic]]:
        offset = self._sizes[0]
        if not self.blocks:
            whole = np.frombuffer(payload, self._sample_type, count, offset)
            return {one.name: whole[one.name] for one in self.sample}
        out: dict[str, NDArray[np.generic]] = {}
        for one in self.sample:
            kind = np.dtype(self.byte_order + NUMBER_CODES[one.number_type])
            values = np.frombuffer(payload, kind, count * one.n, offset)
            out[one.name] = values.reshape(count, one.n) if one.n > 1 else values
            offset += values.nbytes
        return out


def _allowed(one: Field) -> str:
    if one.low == one.high:
        return f"this profile reads {one.low}"
    return f"{'any' if one.low is None else one.low} to {'any' if one.high is None else one.high} allowed"


def _made_again(values: dict[str, Any]) -> Layout:
    return Layout(**values)
