"""The findings of `pitchbend sensors check` in words: what was found, and what to change in the profile if it is wrong."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Final

from sensors.check.findings import Check, Finding, Grade, Subject
from sensors.check.motion import REST_S
from sensors.profiles.base import ClockKind
from sensors.profiles.load_instrument import STANDARD_GRAVITY_M_S2

_TURN_IT = (
    "let the capture hold half a minute of turning the sensor by hand, a quarter turn a second, about each of its axes in turn "
    "while that axis lies level"
)
_LAY_IT = "let the capture hold a few seconds of the sensor lying still"


def found_words(check: Check, finding: Finding) -> str:
    """Say what was found, in one sentence or two."""
    return _WORDS[finding.subject](check, finding.grade)


def _packets(check: Check, _: Grade) -> str:
    decoded = check.decoded
    if not decoded.n_samples and decoded.n_ignored > len(decoded.problems):
        return (
            f"Not one notification holds samples: {decoded.n_ignored} of {decoded.n_packets} begin with what ignore in [packet] "
            "passes over."
        )
    if not decoded.n_samples:
        return "Not one notification fits: see [packet] and [samples]."
    told = f"{decoded.n_packets} notifications, {decoded.n_samples} samples, {decoded.n_duplicates} duplicates"
    if not decoded.problems:
        return f"{told}, every one readable."
    return (
        f"{told}, {len(decoded.problems)} not readable: see [packet] and [samples], and ignore for answers to commands."
    )


def _rate(check: Check, grade: Grade) -> str:
    rate_hz = check.decoded.device_rate_hz
    if rate_hz is None:
        return "Too few samples to measure the rate."
    told = f"{rate_hz:.2f} samples a second, {check.profile.nominal_rate_hz:g} by the profile."
    return told if grade is Grade.GOOD else f"{told} See hz in [rate], and unit in [clock]."


def _clock(check: Check, grade: Grade) -> str:
    if check.restarts_all_the_time:
        return (
            f"Clock and counter contradict each other or the arrivals {check.decoded.n_restarts} times in "
            f"{check.decoded.n_packets} notifications: see endian and the types of fields in [packet], unit, ticks_per_unit and "
            "wraps_at in [clock], and [sequence]."
        )
    if check.profile.clock.kind is ClockKind.NONE:
        return "The sensor has no clock: times come from the moments of arrival."
    if grade is Grade.UNKNOWN:
        return "Too few samples to compare its clock with the computer's."
    own, host = check.decoded.device_rate_hz, check.decoded.arrival_rate_hz
    told = f"By its own clock {own:.2f} samples a second, by the computer's {host:.2f}"
    if grade is Grade.GOOD:
        return told + "."
    return told + " without what was lost. See unit, ticks_per_unit and wraps_at in [clock]."


def _loss(check: Check, _: Grade) -> str:
    decoded = check.decoded
    if decoded.n_lost is None:
        return "Unknown: this sensor sends neither a counter nor a clock, so a lost packet leaves no trace."
    share = decoded.n_lost / (decoded.n_lost + decoded.n_samples)
    restarts = f", {decoded.n_restarts} restarts" if decoded.n_restarts else ""
    return f"{decoded.n_lost} samples lost in {decoded.n_gaps} gaps ({share:.2%}){restarts}."


def _gravity(check: Check, grade: Grade) -> str:
    if check.rest is None:
        return _no_rest(check)
    told = f"{check.rest.force_m_s2:.3f} m/s2 at rest, {STANDARD_GRAVITY_M_S2:.3f} expected."
    return told if grade is Grade.GOOD else f"{told} See scale or full_scale and range_g in [accelerometer]."


def _no_rest(check: Check) -> str:
    if check.decoded.longest_samples < REST_S * check.profile.nominal_rate_hz:
        return f"Not shown: no half second is whole; {_LAY_IT}."
    return f"The sensor never lies still: {_LAY_IT}."


def _rest_rate(check: Check, grade: Grade) -> str:
    if check.rest is None:
        return _no_rest(check)
    told = f"{math.degrees(check.rest.rate_rad_s):.2f} deg/s at rest, 0 expected."
    return (
        told
        if grade is Grade.GOOD
        else f"{told} A few deg/s are the part's own offset; more is a wrong scale or field."
    )


def _axes(check: Check, grade: Grade) -> str:
    turned = check.turning
    if turned is None or grade is Grade.UNKNOWN:
        return f"Not shown: {_TURN_IT}."
    if grade is Grade.GOOD:
        return (
            f"Gravity turns as the gyroscope says it does ({turned.explained:.0%} of it in {turned.n_windows} turns)."
        )
    if turned.best_axes == ("-x", "-y", "-z"):
        return (
            "Gravity turns against the gyroscope about every axis: the axes are left-handed, or the gyroscope counts the other "
            "way round. See axes and left_handed in [gyroscope] and [accelerometer]."
        )
    return (
        f"Gravity turns as if the gyroscope's x, y, z were {', '.join(turned.best_axes)} of what they are now. "
        "See axes in [gyroscope] and [accelerometer]."
    )


def _scale(check: Check, grade: Grade) -> str:
    if check.turning is None or grade is Grade.UNKNOWN:
        return "Not shown, as the axes are not."
    told = f"Gravity turns {check.turning.scale:.3f} times as far as the gyroscope says."
    return told if grade is Grade.GOOD else f"{told} See scale, unit or full_scale in [gyroscope]."


def _saturation(check: Check, _: Grade) -> str:
    if check.held:
        return (
            "The largest rate stands still for several samples, as at the end of a range, and the profile does not call it one: "
            "see saturated in [gyroscope]."
        )
    if check.decoded.n_saturated:
        return f"{check.decoded.n_saturated} readings at the end of the gyroscope's range: too fast for the range in force."
    return "No rate at the end of the gyroscope's range."


_WORDS: Final[dict[Subject, Callable[[Check, Grade], str]]] = {
    Subject.PACKETS: _packets,
    Subject.RATE: _rate,
    Subject.CLOCK: _clock,
    Subject.LOSS: _loss,
    Subject.GRAVITY: _gravity,
    Subject.REST_RATE: _rest_rate,
    Subject.AXES: _axes,
    Subject.GYR_SCALE: _scale,
    Subject.SATURATION: _saturation,
}
