"""The part of a profile file that says how a notification lies in bytes: [packet], [samples], [split]."""

from __future__ import annotations

import re
import struct
from typing import Any, Final

from sensors.profiles.base import Split
from sensors.profiles.layout import REST, Field, Layout
from sensors.profiles.toml_table import Table, quoted
from sensors.profiles.write import INTEGER_BITS, NUMBER_CODES

_FIELD_NAME: Final = re.compile(r"[a-z][a-z0-9_]{0,31}")


def read_layout(whole: Table, profile: str, rate_hz: float) -> Layout:
    """Read [packet] and [samples]; `rate_hz` decides where the number of samples depends on it."""
    packet, samples = whole.needed("packet"), whole.needed("samples")
    header = _fields(packet, optional=True, in_header=True)
    sample = _fields(samples, optional=False, in_header=False)
    for name in ("gyr", "acc"):
        found = next((one for one in sample if one.name == name), None)
        if found is None or found.n != 3:
            raise samples.error(f"fields must hold {name}, with n = 3", "fields")
    names = [one.name for one in (*header, *sample)]
    for name in names:
        if names.count(name) > 1:
            raise samples.error(f'two fields are called "{name}"', "fields")
    count = _count(samples, header, rate_hz)
    most = samples.integer("most", 1, 1000, 250)
    if isinstance(count, int) and count > most:
        raise samples.error(f"count is {count}, and most is {most}", "count")
    clock, sequence = whole.needed("clock"), whole.table("sequence", optional=True)
    layout = Layout(
        profile=profile,
        byte_order=">" if packet.choice("endian", ("little", "big"), "little") == "big" else "<",
        header=header,
        sample=sample,
        blocks=samples.choice("order", ("sample_by_sample", "field_by_field"), "sample_by_sample") == "field_by_field",
        count=count,
        most_samples=most,
        sequence_field=sequence.text("field") if sequence is not None else None,
        clock_field=clock.text("field", None),
    )
    packet.raw("ignore", None)  # read by `read_ignored`
    packet.done()
    samples.done()
    return layout


def read_ignored(whole: Table) -> tuple[bytes, ...]:
    """Read which notifications are no samples."""
    packet = whole.needed("packet")
    return tuple(_hex(packet, text, "ignore", i) for i, text in enumerate(packet.texts("ignore", ())))


def read_split(whole: Table, layout: Layout) -> Split | None:
    """Read [split]; a beginning and a continuation must not be alike."""
    table = whole.table("split", optional=True)
    if table is None:
        return None
    continues = _hex(table, table.text("continues"), "continues")
    if layout.count == REST:
        raise table.error(f'with [split] the number of samples must be known: count in [samples] cannot be "{REST}"')
    if all(b is None or a == b for a, b in zip(continues, fixed_bytes(layout), strict=False)):
        raise table.error(
            "a first part can begin with the same bytes, so that the two cannot be told apart: "
            "give the header's first fields a value with equals",
            "continues",
        )
    most = table.integer("most_parts", 2, 255, 2)
    table.done()
    return Split(continues=continues, most_parts=most)


def fixed_bytes(layout: Layout) -> list[int | None]:
    """Give each byte of the header that has one value only, and None for every other."""
    out: list[int | None] = []
    for one in layout.header:
        code = layout.byte_order + NUMBER_CODES[one.number_type]
        if one.n == 1 and one.low is not None and one.low == one.high:
            out += struct.pack(code, one.low)
        else:
            out += [None] * (struct.calcsize(code) * one.n)
    return out


def _fields(table: Table, *, optional: bool, in_header: bool) -> tuple[Field, ...]:
    out = []
    for entry in table.tables("fields", optional=optional):
        name = entry.text("name")
        if not _FIELD_NAME.fullmatch(name):
            raise entry.error(f'name is "{name}"; allowed: up to 32 of a-z 0-9 _ beginning with a letter', "name")
        number_type = entry.choice("type", tuple(NUMBER_CODES))
        low = high = None
        if in_header and not number_type.startswith("f"):
            low, high = _limits(entry, number_type)
        out.append(Field(name=name, number_type=number_type, n=entry.integer("n", 1, 256, 1), low=low, high=high))
        if (low is not None or high is not None) and out[-1].n != 1:
            raise entry.error("limits are for a single number: leave n out", "n")
        entry.done()
    if not optional and not out:
        raise table.error("fields must not be empty", "fields")
    return tuple(out)


def _limits(entry: Table, number_type: str) -> tuple[int | None, int | None]:
    bits = INTEGER_BITS[number_type]
    lowest, highest = (0, 2**bits - 1) if number_type.startswith("u") else (-(2 ** (bits - 1)), 2 ** (bits - 1) - 1)
    fixed = entry.integer("equals", lowest, highest, None)
    low = entry.integer("min", lowest, highest, None)
    high = entry.integer("max", lowest, highest, None)
    if fixed is not None:
        if low is not None or high is not None:
            raise entry.error("give either equals or min and max", "equals")
        return fixed, fixed
    if low is not None and high is not None and low > high:
        raise entry.error(f"min is {low}, above max, {high}", "min")
    return low, high


def _count(samples: Table, header: tuple[Field, ...], rate_hz: float) -> int | str:
    value: Any = samples.raw("count")
    names = [one.name for one in header if not one.is_float and one.n == 1]
    match value:
        case bool():
            pass
        case int():
            return int(samples.integer("count", 1, 1000))
        case str() if value == REST or value in names:
            return value
        case dict():
            by_rate = samples.needed("count")
            return int(by_rate.integer(f"{rate_hz:g}", 1, 1000))
        case _:
            pass
    raise samples.error(
        f'count must be a number, a field of [packet] ({quoted(names) or "there is none"}), "{REST}", '
        "or a number for each rate such as {104 = 8}",
        "count",
    )


def _hex(table: Table, text: str, *at: str | int) -> bytes:
    try:
        value = bytes.fromhex(text)
    except ValueError:
        value = b""
    if not value:
        raise table.error(f'"{text}" must be bytes in hexadecimal, such as "03 63"', *at)
    return value
