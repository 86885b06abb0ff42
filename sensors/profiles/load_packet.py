"""The part of a profile file that says how a notification lies in bytes: [packet], [samples], [clock], [sequence], [split]."""

from __future__ import annotations

import re
from typing import Any, Final

from sensors.profiles.base import Clock, ClockKind, Split
from sensors.profiles.layout import REST, Field, Layout
from sensors.profiles.toml_table import Table, quoted
from sensors.profiles.write import NUMBER_CODES

_FIELD_NAME: Final = re.compile(r"[a-z][a-z0-9_]{0,31}")
_UNIT_S: Final = {"ns": 1e-9, "us": 1e-6, "ms": 1e-3, "s": 1.0}
_INTEGER_BITS: Final = {"u8": 8, "u16": 16, "u32": 32, "u64": 64, "i8": 8, "i16": 16, "i32": 32, "i64": 64}


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


def read_clock(whole: Table, layout: Layout) -> Clock:
    """Read [clock]; its field must be there and hold whole numbers."""
    table = whole.needed("clock")
    kind = ClockKind(table.choice("kind", [kind.value for kind in ClockKind]))
    field = table.text("field", None)
    if kind is ClockKind.NONE:
        if field is not None:
            raise table.error("a clock of kind none has no field", "field")
        table.done()
        return Clock(kind=kind)
    place = layout.sample if kind is ClockKind.PER_SAMPLE else layout.header
    where = "[samples]" if kind is ClockKind.PER_SAMPLE else "[packet]"
    found = _counter(table, place, where)
    unit = table.choice("unit", tuple(_UNIT_S))
    ticks = table.number("ticks_per_unit", 1e-9, 1e9, 1.0)
    modulus = 2 ** _INTEGER_BITS[found.number_type]
    wraps_at = table.raw("wraps_at", None)
    if wraps_at == 0 and not isinstance(wraps_at, bool):
        modulus = 0
    elif wraps_at is not None:
        modulus = table.integer("wraps_at", 2, modulus)
    table.done()
    return Clock(kind=kind, tick_s=_UNIT_S[unit] / ticks, modulus=modulus)


def read_sequence(whole: Table, layout: Layout, clock: Clock) -> int | None:
    """Read [sequence]; None without one."""
    table = whole.table("sequence", optional=True)
    if table is None:
        return None
    if clock.kind is ClockKind.PER_SAMPLE:
        raise table.error("leave [sequence] out: with a clock per sample every loss shows as a step of time")
    found = _counter(table, layout.header, "[packet]")
    wraps_at = table.integer(
        "wraps_at", 16, 2 ** _INTEGER_BITS[found.number_type], 2 ** _INTEGER_BITS[found.number_type]
    )
    table.done()
    return int(wraps_at)


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
    if _can_begin(layout, continues):
        raise table.error(
            "a first part can begin with the same bytes, so that the two cannot be told apart: "
            "give the header's first fields a value with equals",
            "continues",
        )
    most = table.integer("most_parts", 2, 255, 2)
    table.done()
    return Split(continues=continues, most_parts=most)


def _can_begin(layout: Layout, prefix: bytes) -> bool:
    """Tell whether a header may begin with these bytes: only one-byte fields with a fixed value rule it out."""
    offset = 0
    for one in layout.header:
        if offset >= len(prefix) or one.number_type not in {"u8", "i8"}:
            break
        if one.n == 1 and one.low is not None and one.low == one.high and prefix[offset] != one.low % 256:
            return False
        offset += one.n
    return True


def _counter(table: Table, fields: tuple[Field, ...], where: str) -> Field:
    name = table.text("field")
    found = next((one for one in fields if one.name == name), None)
    if found is None:
        raise table.error(
            f'there is no field "{name}" in {where}; there are: {quoted([one.name for one in fields])}', "field"
        )
    if found.number_type not in {"u8", "u16", "u32", "u64"} or found.n != 1:
        raise table.error(f'the field "{name}" must be one number of type u8, u16, u32 or u64', "field")
    if found.number_type == "u64" and where == "[samples]":
        raise table.error(f'the field "{name}" must be u8, u16 or u32 in [samples]', "field")
    return found


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
    bits = _INTEGER_BITS[number_type]
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
            counts = {key: by_rate.integer(key, 1, 1000) for key in (f"{rate_hz:g}", *value)}
            return int(counts[f"{rate_hz:g}"])
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
