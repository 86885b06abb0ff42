"""A device profile from the text of its TOML file. Every error names the line: `docs/adding-a-sensor.md` is the specification.

Pure: whoever has the text, from a file, from the package or from a recording, gets the same profile.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace
from functools import lru_cache
from typing import Final

from sensors.errors import ProfileError
from sensors.profiles.base import (
    Choices,
    Profile,
    Settings,
    Worn,
)
from sensors.profiles.load_clock import read_clock, read_sequence, with_believable_clock
from sensors.profiles.load_instrument import ACCELEROMETER, GYROSCOPE, largest, read_instrument
from sensors.profiles.load_packet import read_ignored, read_layout, read_split
from sensors.profiles.load_radio import check_writes, read_radio
from sensors.profiles.sense import check_sense
from sensors.profiles.toml_table import Table, quoted

FORM_VERSION: Final = 1
SETTINGS_MARK: Final = "@"
"""Stands between a profile's name and settings that are not the device's own: `open-imu-1@rate_hz=100`."""

_NAME: Final = re.compile(r"[a-z0-9][a-z0-9._-]{0,47}")
_RESERVED_NAME: Final = "float-imu-1"
_SECTIONS: Final = (
    "profile", "bluetooth", "find", "battery", "commands", "rate", "packet", "samples", "clock", "sequence", "split",
    "gyroscope", "accelerometer", "worn",
)  # fmt: skip


def load_profile(
    text: str, file: str, settings: Mapping[str, float] | None = None, *, recorded: bool = False
) -> Profile:
    """Read a profile; `file` is its name for errors, `settings` what is in force in place of the device's own.

    Raises `ProfileError` with the line, for settings that the profile does not allow as well, and, unless it is the text of a
    recording, for what makes no sense (`sense.py`).
    """
    return _load(text, file, tuple(sorted((settings or {}).items())), recorded=recorded)


@lru_cache(maxsize=64)
def _load(text: str, file: str, settings: tuple[tuple[str, float], ...], *, recorded: bool) -> Profile:
    whole = Table.of(text, lambda problem, line, _: ProfileError(file, line, problem))
    about = whole.needed("profile")
    form = about.integer("form", 1, 10**6)
    if form > FORM_VERSION:
        raise about.error(
            f"form {form} is newer than this version of Pitchbend, which reads up to {FORM_VERSION}", "form"
        )
    whole.only(_SECTIONS)
    name = _name(about)
    choices = _choices(whole)
    chosen = _chosen(whole, choices, dict(settings))
    full_name = name + _settings_text(choices, chosen)
    layout = read_layout(whole, full_name, chosen.rate_hz)
    own = choices.own
    gyr = read_instrument(whole, GYROSCOPE, own.gyr_range_deg_s, chosen.gyr_range_deg_s)
    acc = read_instrument(whole, ACCELEROMETER, own.acc_range_g, chosen.acc_range_g)
    layout = replace(
        layout, largest_gyr=largest(layout, GYROSCOPE, gyr), largest_acc=largest(layout, ACCELEROMETER, acc)
    )
    clock = read_clock(whole, layout)
    layout = with_believable_clock(layout, clock)
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
    if not recorded:
        check_sense(whole, profile)
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
    sections = dict(zip(allowed, ("rate", "gyroscope", "accelerometer"), strict=True))
    for key, value in wanted.items():
        if key not in allowed:
            raise whole.error(f'there is no setting "{key}"; allowed: {quoted(tuple(allowed))}')
        if value not in allowed[key]:
            told = ", ".join(f"{choice:g}" for choice in allowed[key])
            raise whole.needed(sections[key]).error(f"{key}={value:g} is asked for, and this sensor has {told}")
    return Settings(**{**choices.own.as_dict(), **wanted})


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
