"""The part of a profile file about time and order: [clock] and [sequence]."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from sensors.profiles.base import Clock, ClockKind
from sensors.profiles.layout import Field, Layout
from sensors.profiles.toml_table import Table, quoted
from sensors.profiles.write import INTEGER_BITS

_UNIT_S: Final = {"ns": 1e-9, "us": 1e-6, "ms": 1e-3, "s": 1.0}
_LATEST_S: Final = 1e10
"""Three hundred years: a clock that says more is no clock, and a float would no longer hold its microseconds."""


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
    modulus = 2 ** INTEGER_BITS[found.number_type]
    wraps_at = table.raw("wraps_at", None)
    if wraps_at == 0 and not isinstance(wraps_at, bool):
        modulus = 0
    elif wraps_at is not None:
        modulus = table.integer("wraps_at", 2, modulus)
    table.done()
    return Clock(kind=kind, tick_s=_UNIT_S[unit] / ticks, modulus=modulus)


def with_believable_clock(layout: Layout, clock: Clock) -> Layout:
    """Refuse stamps that no clock ever reaches: only 64 bits hold such."""
    if clock.kind is ClockKind.NONE:
        return layout
    most = int(_LATEST_S / clock.tick_s)
    header = tuple(
        replace(one, high=most if one.high is None else min(one.high, most))
        if one.name == layout.clock_field and one.number_type == "u64"
        else one
        for one in layout.header
    )
    return replace(layout, header=header)


def read_sequence(whole: Table, layout: Layout, clock: Clock) -> int | None:
    """Read [sequence]; None without one."""
    table = whole.table("sequence", optional=True)
    if table is None:
        return None
    if clock.kind is ClockKind.PER_SAMPLE:
        raise table.error("leave [sequence] out: with a clock per sample every loss shows as a step of time")
    found = _counter(table, layout.header, "[packet]")
    wraps_at = table.integer("wraps_at", 16, 2 ** INTEGER_BITS[found.number_type], 2 ** INTEGER_BITS[found.number_type])
    table.done()
    return int(wraps_at)


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
