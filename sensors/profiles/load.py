"""A device profile from the text of its TOML file. Every error names the line: `docs/adding-a-sensor.md` is the specification.

Pure: whoever has the text, from a file, from the package or from a recording, gets the same profile.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import replace
from functools import lru_cache
from typing import Final

from sensors.errors import ProfileError
from sensors.profiles.base import (
    Axes,
    Choices,
    Instrument,
    Profile,
    Settings,
    Worn,
)
from sensors.profiles.layout import Layout
from sensors.profiles.load_packet import read_clock, read_ignored, read_layout, read_sequence, read_split
from sensors.profiles.load_radio import check_writes, read_radio
from sensors.profiles.toml_table import Table, quoted

FORM_VERSION: Final = 1
STANDARD_GRAVITY_M_S2: Final = 9.80665
SETTINGS_MARK: Final = "@"
"""Stands between a profile's name and settings that are not the device's own: `open-imu-1@rate_hz=100`."""

_NAME: Final = re.compile(r"[a-z0-9][a-z0-9._-]{0,47}")
_RESERVED_NAME: Final = "float-imu-1"
_SI: Final = {"rad/s": 1.0, "g": STANDARD_GRAVITY_M_S2, "m/s2": 1.0}
_BEYOND: Final = 2.0
"""A floating-point reading this many times the range is no reading."""


def load_profile(text: str, file: str, settings: Mapping[str, float] | None = None) -> Profile:
    """Read a profile; `file` is its name for errors, `settings` what is in force in place of the device's own.

    Raises `ProfileError` with the line, for settings that the profile does not allow as well.
    """
    return _load(text, file, tuple(sorted((settings or {}).items())))


@lru_cache(maxsize=64)
def _load(text: str, file: str, settings: tuple[tuple[str, float], ...]) -> Profile:
    whole = Table.of(text, lambda problem, line, _: ProfileError(file, line, problem))
    about = whole.needed("profile")
    form = about.integer("form", 1, 10**6)
    if form > FORM_VERSION:
        raise about.error(
            f"form {form} is newer than this version of Pitchbend, which reads up to {FORM_VERSION}", "form"
        )
    name = _name(about)
    choices = _choices(whole)
    chosen = _chosen(whole, choices, dict(settings))
    full_name = name + _settings_text(choices, chosen)
    layout = read_layout(whole, full_name, chosen.rate_hz)
    gyr = _instrument(whole, "gyroscope", ("deg/s", "rad/s"), math.radians(chosen.gyr_range_deg_s))
    acc = _instrument(whole, "accelerometer", ("g", "m/s2"), chosen.acc_range_g * STANDARD_GRAVITY_M_S2)
    layout = replace(layout, largest_gyr=_largest(layout, "gyr", gyr), largest_acc=_largest(layout, "acc", acc))
    clock = read_clock(whole, layout)
    radio = read_radio(whole)
    check_writes(whole, radio.commands, choices)
    profile = Profile(
        name=full_name,
        title=about.text("title"),
        source=about.text("source", ""),
        text=text,
        filter_delay_s=about.number("filter_delay_ms", 0.0, 100.0, 0.0) * 1e-3,
        choices=choices,
        settings=chosen,
        layout=layout,
        clock=clock,
        sequence_modulus=read_sequence(whole, layout, clock),
        ignored=read_ignored(whole),
        split=read_split(whole, layout),
        gyr=gyr,
        acc=acc,
        service_uuid=radio.service_uuid,
        data_uuid=radio.data_uuid,
        more_service_uuids=radio.more_service_uuids,
        advertised_uuids=radio.advertised_uuids,
        name_patterns=radio.name_patterns,
        commands=radio.commands,
        battery=radio.battery,
        worn=_worn(whole),
    )
    about.done()
    whole.done()
    return profile


def parse_name(name: str) -> tuple[str, dict[str, float] | None]:
    """Split a recorded name into that of the file and the settings; None for settings that make no sense."""
    base, mark, tail = name.partition(SETTINGS_MARK)
    settings: dict[str, float] = {}
    for part in tail.split(",") if mark else ():
        key, _, value = part.partition("=")
        try:
            settings[key] = float(value)
        except ValueError:
            return base, None
    return base, settings


def _settings_text(choices: Choices, chosen: Settings) -> str:
    own = choices.own.as_dict()
    changed = [f"{key}={value:.12g}" for key, value in chosen.as_dict().items() if value != own[key]]
    return SETTINGS_MARK + ",".join(changed) if changed else ""


def _name(about: Table) -> str:
    name: str = about.text("name")
    if not _NAME.fullmatch(name):
        raise about.error(
            f'name is "{name}"; allowed: up to 48 of a-z 0-9 . _ - beginning with a letter or digit', "name"
        )
    if name == _RESERVED_NAME:
        raise about.error(f'the name "{name}" is taken: it stands for imported data', "name")
    return name


def _choices(whole: Table) -> Choices:
    rate = whole.needed("rate")
    hz = rate.number("hz", 1.0, 5000.0)
    rates = _with_others(rate, "hz", hz, rate.numbers("choices_hz", 1.0, 5000.0, (hz,)))
    gyr, acc = whole.needed("gyroscope"), whole.needed("accelerometer")
    gyr_range = gyr.number("range_deg_s", 1.0, 10_000.0)
    acc_range = acc.number("range_g", 0.5, 1000.0)
    out = Choices(
        rates_hz=rates,
        gyr_ranges_deg_s=_with_others(
            gyr, "range_deg_s", gyr_range, gyr.numbers("choices_deg_s", 1.0, 10_000.0, (gyr_range,))
        ),
        acc_ranges_g=_with_others(acc, "range_g", acc_range, acc.numbers("choices_g", 0.5, 1000.0, (acc_range,))),
    )
    rate.done()
    return out


def _with_others(table: Table, key: str, own: float, choices: tuple[float, ...]) -> tuple[float, ...]:
    """Put the device's own value first; it must be among the choices."""
    if own not in choices:
        raise table.error(
            f"{key} is {own:g}, which is not among its choices {', '.join(f'{c:g}' for c in choices)}", key
        )
    return (own, *(choice for choice in choices if choice != own))


def _chosen(whole: Table, choices: Choices, wanted: dict[str, float]) -> Settings:
    allowed = choices.as_dict()
    for key, value in wanted.items():
        if key not in allowed:
            raise whole.error(f'there is no setting "{key}"; allowed: {quoted(tuple(allowed))}')
        if value not in allowed[key]:
            told = ", ".join(f"{choice:g}" for choice in allowed[key])
            raise whole.error(f"{key}={value:g} is asked for, and this sensor has {told}")
    return Settings(**{**choices.own.as_dict(), **wanted})


def _instrument(whole: Table, section: str, units: tuple[str, ...], range_si: float) -> Instrument:
    table = whole.needed(section)
    for key in ("range_deg_s", "choices_deg_s") if section == "gyroscope" else ("range_g", "choices_g"):
        table.raw(key, None)  # read by `_choices`
    full_scale = table.number("full_scale", 1e-6, 2.0**63, None)
    scale = table.number("scale", 1e-12, 1e6, None)
    if (full_scale is None) == (scale is None):
        raise table.error(
            "give either full_scale (the raw number at the end of the range) or scale with unit (units for one raw number)",
            "scale" if scale is not None else "full_scale",
        )
    if full_scale is not None:
        si_per_count = range_si / full_scale
    else:
        unit = table.choice("unit", units)
        si_per_count = math.radians(scale) if unit == "deg/s" else scale * _SI[unit]
    ends = table.numbers("saturated", -(2.0**63), 2.0**63)
    if len(ends) != 2 or not ends[0] < 0 < ends[1]:
        raise table.error(
            "saturated must be two raw numbers, the lowest below 0 and the highest above, at the ends", "saturated"
        )
    axes = _axes(table)
    table.done()
    return Instrument(si_per_count=si_per_count, axes=axes, range_si=range_si, lowest=ends[0], highest=ends[1])


def _largest(layout: Layout, field: str, instrument: Instrument) -> float | None:
    """Give the largest raw number that can be believed, for floating point; whole numbers are held by their type."""
    if not any(one.name == field and one.is_float for one in layout.sample):
        return None
    return _BEYOND * max(instrument.range_si / instrument.si_per_count, instrument.highest, -instrument.lowest)


def _worn(whole: Table) -> Worn | None:
    table = whole.table("worn", optional=True)
    if table is None:
        return None
    ways = {f"{sign}{name}": _along(name, sign) for name in "xyz" for sign in "+-"}
    up, top = table.choice("up", tuple(ways)), table.choice("top", tuple(ways))
    if up[1] == top[1]:
        raise table.error(f"up is {up} and top is {top}, along the same axis", "top")
    table.done()
    return Worn(up=ways[up], top=ways[top])


def _along(name: str, sign: str) -> tuple[float, float, float]:
    size = 1.0 if sign == "+" else -1.0
    return (size * (name == "x"), size * (name == "y"), size * (name == "z"))


def _axes(table: Table) -> Axes:
    words = table.texts("axes", ("+x", "+y", "+z"))
    allowed = 'three of "+x" "-x" "+y" "-y" "+z" "-z", each letter once'
    if len(words) != 3 or any(word not in {"+x", "-x", "+y", "-y", "+z", "-z"} for word in words):
        raise table.error(f"axes is {quoted(words)}; allowed: {allowed}", "axes")
    order = tuple("xyz".index(word[1]) for word in words)
    signs = tuple(1 if word[0] == "+" else -1 for word in words)
    if sorted(order) != [0, 1, 2]:
        raise table.error(f"axes is {quoted(words)}; allowed: {allowed}", "axes")
    swaps = sum(order[i] > order[j] for i in range(3) for j in range(i + 1, 3))
    determinant = (-1) ** swaps * math.prod(signs)
    mirrored = table.flag("left_handed", default=False)
    if determinant != (-1 if mirrored else 1):
        raise table.error(
            f"axes is {quoted(words)}, which leaves the axes left-handed (determinant {determinant}): swap two of them or turn "
            "one sign" + ("" if mirrored else "; if the device's own axes are left-handed, say so: left_handed = true"),
            "axes" if "axes" in table else "left_handed",
        )
    return Axes(order=(order[0], order[1], order[2]), signs=(signs[0], signs[1], signs[2]))
