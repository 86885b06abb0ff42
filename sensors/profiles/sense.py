"""What a profile file may say and must not mean: it can be read, but what a sensor sends would tell something wrong.

Asked of files, not of the text in a recording: what was recorded stays readable, whatever this program has learnt since.
"""

from __future__ import annotations

from typing import Final

from sensors.profiles.base import Clock, ClockKind, Instrument, Profile
from sensors.profiles.layout import Layout
from sensors.profiles.load_instrument import ACCELEROMETER, GYROSCOPE, Part, type_of
from sensors.profiles.load_packet import fixed_bytes
from sensors.profiles.toml_table import Table
from sensors.profiles.write import INTEGER_BITS

_LEAST_WRAP_S: Final = 5.0
"""Arrivals tell apart rounds of a clock that are longer than what a radio holds packets back, about two seconds."""
_COARSEST_TICK_S: Final = 0.02
_TICK_OF_PACKET: Final = 0.45
"""A clock that steps by less than this share of a packet's time shows that one is missing."""
_ENDS_BEYOND: Final = 1.5
"""Ends that lie further out than this many ranges are a mistake."""


def check_sense(whole: Table, profile: Profile) -> None:
    """Raise `ProfileError` for what makes no sense."""
    _ignored(whole, profile)
    _counts(whole, profile)
    _ends(whole, GYROSCOPE, profile.layout, profile.gyr)
    _ends(whole, ACCELEROMETER, profile.layout, profile.acc)
    if profile.clock.kind is not ClockKind.NONE:
        _clock(whole, profile.clock, profile)


def _ignored(whole: Table, profile: Profile) -> None:
    fixed, packet = fixed_bytes(profile.layout), whole.needed("packet")
    for i, prefix in enumerate(profile.ignored):
        if list(prefix) == fixed[: len(prefix)]:
            raise packet.error(f'"{prefix.hex(" ")}" is how every notification with samples begins', "ignore", i)
        if profile.split is not None and profile.split.continues.startswith(prefix):
            raise packet.error(f'"{prefix.hex(" ")}" is how further parts begin, by [split]', "ignore", i)


def _counts(whole: Table, profile: Profile) -> None:
    samples = whole.needed("samples")
    if isinstance(samples.raw("count"), dict):
        by_rate = samples.needed("count")
        for rate_hz in profile.choices.rates_hz:
            by_rate.integer(f"{rate_hz:g}", 1, 1000)
        by_rate.done()


def _ends(whole: Table, part: Part, layout: Layout, instrument: Instrument) -> None:
    table = whole.needed(part.section)
    number_type = type_of(layout, part)
    bits = INTEGER_BITS.get(number_type)
    lowest, highest = instrument.lowest, instrument.highest
    if number_type.startswith("u"):
        raise table.error(f"{part.field} is {number_type} in [samples], which has no numbers below 0", "saturated")
    if bits is not None and (lowest < -(2.0 ** (bits - 1)) or highest > 2.0 ** (bits - 1) - 1.0):
        raise table.error(
            f"saturated is {lowest:.17g} and {highest:.17g}, and {part.field} is {number_type} in [samples], which ends "
            "before: no reading would ever be at the end",
            "saturated",
        )
    range_raw = instrument.range_si / instrument.si_per_count
    if max(-lowest, highest) > _ENDS_BEYOND * range_raw:
        raise table.error(
            f"saturated is {lowest:g} and {highest:g}, and by {part.range_keys[0]} the range ends at the raw number "
            f"{range_raw:g}: see scale or full_scale, too",
            "saturated",
        )


def _clock(whole: Table, clock: Clock, profile: Profile) -> None:
    table = whole.needed("clock")
    tick_s, wrap_s = clock.tick_s, clock.modulus * clock.tick_s
    advice = 'if the unit is right, leave the clock out: kind = "none"'
    if clock.modulus and wrap_s < _LEAST_WRAP_S:
        raise table.error(
            f"this clock begins anew every {wrap_s:.3g} s, and less than {_LEAST_WRAP_S:g} s cannot tell how long a pause was; "
            + advice,
            "field",
        )
    rate_hz = max(profile.choices.rates_hz)
    most_s, why = _COARSEST_TICK_S, "times are of little use"
    if clock.kind is ClockKind.PER_SAMPLE and 1.0 / rate_hz < most_s:
        most_s, why = 1.0 / rate_hz, "two samples have the same time"
    elif profile.sequence_modulus is None:
        n = profile.layout.count if isinstance(profile.layout.count, int) else 1
        if _TICK_OF_PACKET * n / rate_hz < most_s:
            most_s, why = _TICK_OF_PACKET * n / rate_hz, "a lost notification does not show"
    if tick_s > most_s:
        raise table.error(
            f"this clock steps by {tick_s:.3g} s: at {rate_hz:g} samples a second {why}; {advice}", "unit"
        )
