"""Profiles of every shape that the form allows, written as TOML, and what such a sensor sends, packed by `struct` alone.

Nothing of the project's own decides here what a number means: `Made` says it, the profile says it, and the two are compared.
"""

from __future__ import annotations

import math
import struct
from dataclasses import dataclass

from hypothesis import strategies as st

G = 9.80665
RATE_HZ = 100
CODES = {
    "u8": "B",
    "i8": "b",
    "u16": "H",
    "i16": "h",
    "u32": "I",
    "i32": "i",
    "u64": "Q",
    "i64": "q",
    "f32": "f",
    "f64": "d",
}
BITS = {"i8": 8, "i16": 16, "i32": 32, "i64": 64}
CLOCKS = {
    "u16": [("ms", 1000, 1)],
    "u32": [("us", 10**6, 1), ("ms", 1000, 1), ("s", 32768, 32768)],
    "u64": [("ns", 10**9, 1), ("us", 10**6, 1)],
}
"""By type: unit in the file, its ticks a second, and `ticks_per_unit`."""


@dataclass(frozen=True, kw_only=True)
class Axes:
    order: tuple[int, int, int]
    signs: tuple[int, int, int]

    @property
    def toml(self) -> str:
        words = ", ".join(f'"{"+-"[s < 0]}{"xyz"[i]}"' for i, s in zip(self.order, self.signs, strict=True))
        swaps = sum(self.order[i] > self.order[j] for i in range(3) for j in range(i + 1, 3))
        mirrored = (-1) ** swaps * math.prod(self.signs) < 0
        return f"axes = [{words}]\nleft_handed = {str(mirrored).lower()}\n"


@dataclass(frozen=True, kw_only=True)
class Made:
    """A kind of sensor."""

    big: bool
    blocks: bool
    extra_header: tuple[str, ...]
    extra_sample: tuple[str, ...]
    types: dict[str, str]
    axes: dict[str, Axes]
    count: str
    """fixed, field or rest."""
    n: int
    clock: str
    clock_type: str
    clock_unit: tuple[str, int, int]
    sequence: str
    """A type; empty for none."""
    split: bool

    @property
    def kind(self) -> tuple[str, bool]:
        return self.clock, bool(self.sequence)

    @property
    def header(self) -> list[tuple[str, str]]:
        fields = [("kind", "u8"), *((f"spare{i}", t) for i, t in enumerate(self.extra_header))]
        fields += [("howmany", "u8")] if self.count == "field" else []
        fields += [("number", self.sequence)] if self.sequence else []
        return fields + ([("stamp", self.clock_type)] if self.clock.startswith("per_packet") else [])

    @property
    def sample(self) -> list[tuple[str, str, int]]:
        stamp = [("stamp", self.clock_type, 1)] if self.clock == "per_sample" else []
        extra = [(f"other{i}", t, 1 + i) for i, t in enumerate(self.extra_sample)]
        return [*extra, ("acc", self.types["acc"], 3), *stamp, ("gyr", self.types["gyr"], 3)]

    @property
    def toml(self) -> str:
        header = "".join(
            f'  {{ name = "{n}", type = "{t}"{", equals = 1" * (n == "kind")} }},\n' for n, t in self.header
        )
        sample = "".join(f'  {{ name = "{n}", type = "{t}", n = {k} }},\n' for n, t, k in self.sample)
        count = {"fixed": str(self.n), "field": '"howmany"', "rest": '"rest"'}[self.count]
        unit, _, per_unit = self.clock_unit
        clock = "" if self.clock == "none" else f'field = "stamp"\nunit = "{unit}"\nticks_per_unit = {per_unit}\n'
        return (
            '[profile]\nform = 1\nname = "made"\ntitle = "Made"\n[bluetooth]\nservice = "aaaa"\ndata = "bbbb"\n'
            f"[rate]\nhz = {RATE_HZ}\n"
            f'[packet]\nendian = "{"big" if self.big else "little"}"\nfields = [\n{header}]\n'
            f"[samples]\ncount = {count}\n"
            f'order = "{"field_by_field" if self.blocks else "sample_by_sample"}"\nfields = [\n{sample}]\n'
            f'[clock]\nkind = "{self.clock}"\n{clock}'
            + ('[sequence]\nfield = "number"\n' if self.sequence else "")
            + ('[split]\ncontinues = "02"\nmost_parts = 255\n' if self.split else "")
            + f"[gyroscope]\nrange_deg_s = 2000\n{self._ends('gyr', 'deg/s')}{self.axes['gyr'].toml}"
            f"[accelerometer]\nrange_g = 16\n{self._ends('acc', 'm/s2')}{self.axes['acc'].toml}"
        )

    def _ends(self, field: str, unit: str) -> str:
        (low, high), bits = self.ends(field), BITS.get(self.types[field])
        scale = f'scale = 1\nunit = "{unit}"' if bits is None else f"full_scale = {2 ** (bits - 1)}"
        return f"{scale}\nsaturated = [{low}, {high}]\n"

    def ends(self, field: str) -> tuple[int, int]:
        bits = BITS.get(self.types[field])
        if bits is None:
            end = 2000 if field == "gyr" else 156
            return -end, end
        # The largest number of 64 bits is none that a float could say.
        return -(2 ** (bits - 1)), 2 ** (bits - 1) - (1 if bits < 54 else 1024)

    def si(self, field: str, raw: list[int]) -> list[float]:
        bits, axes = BITS.get(self.types[field]), self.axes[field]
        one = math.radians(1.0) if field == "gyr" else 1.0
        if bits is not None:
            one = (math.radians(2000.0) if field == "gyr" else 16.0 * G) / 2 ** (bits - 1)
        return [sign * raw[i] * one for i, sign in zip(axes.order, axes.signs, strict=True)]

    def message(self, k: int, first: int, rows: list[dict[str, list[int]]]) -> bytes:
        """Packet `k`, whose samples are number `first` and on."""
        order = ">" if self.big else "<"
        last = first + len(rows) - 1
        values = {
            "kind": 1, "howmany": len(rows), "number": k % 2 ** int(self.sequence[1:] or 1),
            "stamp": self.tick(first if self.clock == "per_packet_first" else last),
        }  # fmt: skip
        out = b"".join(struct.pack(order + CODES[t], values.get(name, 7)) for name, t in self.header)

        def packed(i: int, name: str, number_type: str, n: int) -> bytes:
            numbers = rows[i].get(name) or ([self.tick(first + i)] if name == "stamp" else [9] * n)
            return struct.pack(f"{order}{n}{CODES[number_type]}", *numbers)

        if self.blocks:
            return out + b"".join(packed(i, *field) for field in self.sample for i in range(len(rows)))
        return out + b"".join(packed(i, *field) for i in range(len(rows)) for field in self.sample)

    def tick(self, number: int) -> int:
        return (5 * self.clock_unit[1] + number * self.clock_unit[1] // RATE_HZ) % 2 ** int(self.clock_type[1:])


AXES = st.builds(Axes, order=st.permutations([0, 1, 2]).map(tuple), signs=st.tuples(*[st.sampled_from([1, -1])] * 3))
MEASURED = st.sampled_from(["i8", "i16", "i32", "i64", "f32", "f64"])
ANY_TYPE = st.sampled_from(list(CODES))


@st.composite
def made(draw: st.DrawFn) -> Made:
    clock = draw(st.sampled_from(["none", "per_packet_first", "per_packet_last", "per_sample"]))
    clock_type = draw(st.sampled_from(["u16", "u32"] if clock == "per_sample" else ["u16", "u32", "u64"]))
    count = draw(st.sampled_from(["fixed", "field", "rest"]))
    return Made(
        big=draw(st.booleans()), blocks=draw(st.booleans()), count=count, clock=clock, clock_type=clock_type,
        extra_header=tuple(draw(st.lists(ANY_TYPE, max_size=3))), extra_sample=tuple(draw(st.lists(ANY_TYPE, max_size=2))),
        types={"gyr": draw(MEASURED), "acc": draw(MEASURED)}, axes={"gyr": draw(AXES), "acc": draw(AXES)},
        n=draw(st.integers(1, 12)), clock_unit=draw(st.sampled_from(CLOCKS[clock_type])),
        sequence="" if clock == "per_sample" else draw(st.sampled_from(["", "u8", "u16", "u32"])),
        split=count != "rest" and draw(st.booleans()),
    )  # fmt: skip
