"""What a capture says of a profile, judged: each finding is good, doubtful or bad. Words are `server/check_advice.py`'s."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Final

import numpy as np

from sensors.check.decoded import Decoded, decode_all
from sensors.check.motion import AtRest, Turning, at_rest, turning
from sensors.events import RawPacket
from sensors.profiles.base import Profile
from sensors.profiles.load_instrument import STANDARD_GRAVITY_M_S2

MANY_UNREADABLE: Final = 0.01
_RATE_OFF, _RATE_WRONG = 0.05, 0.2
_CLOCK_WRONG: Final = 0.05
_LOSSY: Final = 0.02
MOST_RESTARTS: Final = 2
"""And of all notifications, `MANY_UNREADABLE`: a sensor may begin anew, but not over and over."""
_GRAVITY_OFF, _GRAVITY_WRONG = 0.03, 0.1
_REST_RATE_OFF_RAD_S, _REST_RATE_WRONG_RAD_S = math.radians(3.0), math.radians(20.0)
_EXPLAINED: Final = 0.8
_DECISIVE: Final = 0.67
"""The best axes must leave less than this share of what the second best leave unexplained."""
_SCALE_WRONG: Final = 0.15
_HELD_SAMPLES: Final = 4


class Subject(StrEnum):
    """What a finding is about."""

    PACKETS = "packets"
    RATE = "rate"
    CLOCK = "clock"
    LOSS = "loss"
    GRAVITY = "gravity"
    REST_RATE = "rate_at_rest"
    AXES = "axes"
    GYR_SCALE = "gyroscope_scale"
    SATURATION = "saturation"


class Grade(StrEnum):
    """How good it is."""

    GOOD = "good"
    DOUBTFUL = "doubtful"
    BAD = "bad"
    UNKNOWN = "unknown"
    """The capture does not show it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One thing found."""

    subject: Subject
    grade: Grade


@dataclass(frozen=True, slots=True, kw_only=True)
class Check:
    """A capture of one sensor against a profile."""

    profile: Profile
    decoded: Decoded
    rest: AtRest | None
    turning: Turning | None
    held: bool
    """The largest rate stands still for several samples, as at an end of the range, and the profile does not call it one."""
    findings: tuple[Finding, ...]

    @property
    def fits(self) -> bool:
        """Whether nothing is bad."""
        return all(finding.grade is not Grade.BAD for finding in self.findings)

    @property
    def restarts_all_the_time(self) -> bool:
        """Whether clock or counter seem to begin anew too often to be read rightly."""
        return self.decoded.n_restarts > max(MOST_RESTARTS, MANY_UNREADABLE * self.decoded.n_packets)

    @property
    def not_shown(self) -> tuple[Subject, ...]:
        """What a better capture of the same sensor would show."""
        never = set() if self.profile.shows_loss else {Subject.LOSS}
        never |= set() if self.profile.clock.tick_s else {Subject.CLOCK}
        return tuple(one.subject for one in self.findings if one.grade is Grade.UNKNOWN and one.subject not in never)


def check_packets(profile: Profile, packets: Sequence[RawPacket]) -> Check:
    """Check one sensor's packets, at least one, in order of arrival."""
    decoded = decode_all(profile, packets)
    if not decoded.n_samples:
        nothing = (Finding(subject=Subject.PACKETS, grade=Grade.BAD),)
        return Check(profile=profile, decoded=decoded, rest=None, turning=None, held=False, findings=nothing)
    rest = at_rest(decoded, profile.nominal_rate_hz)
    gravity = rest.force_m_s2 if rest is not None else STANDARD_GRAVITY_M_S2
    turned = turning(decoded, profile.nominal_rate_hz, gravity)
    held = _held(decoded)
    grades = {
        Subject.PACKETS: _packets(decoded),
        Subject.RATE: _rate(profile, decoded),
        Subject.CLOCK: _clock(profile, decoded),
        Subject.LOSS: _loss(decoded),
        Subject.GRAVITY: _off(
            None if rest is None else abs(rest.force_m_s2 / STANDARD_GRAVITY_M_S2 - 1.0), _GRAVITY_OFF, _GRAVITY_WRONG
        ),
        Subject.REST_RATE: _off(
            None if rest is None else rest.rate_rad_s, _REST_RATE_OFF_RAD_S, _REST_RATE_WRONG_RAD_S
        ),
        Subject.AXES: _axes(turned),
        Subject.GYR_SCALE: _scale(turned),
        Subject.SATURATION: Grade.DOUBTFUL if held or decoded.n_saturated else Grade.GOOD,
    }
    findings = tuple(Finding(subject=subject, grade=grade) for subject, grade in grades.items())
    check = Check(profile=profile, decoded=decoded, rest=rest, turning=turned, held=held, findings=findings)
    if not check.restarts_all_the_time:
        return check
    clock = Finding(subject=Subject.CLOCK, grade=Grade.BAD)
    return replace(check, findings=tuple(clock if one.subject is Subject.CLOCK else one for one in findings))


def _packets(decoded: Decoded) -> Grade:
    if len(decoded.problems) > MANY_UNREADABLE * decoded.n_packets:
        return Grade.BAD
    return Grade.DOUBTFUL if decoded.problems else Grade.GOOD


def _rate(profile: Profile, decoded: Decoded) -> Grade:
    rate_hz = decoded.device_rate_hz
    return _off(None if rate_hz is None else abs(rate_hz / profile.nominal_rate_hz - 1.0), _RATE_OFF, _RATE_WRONG)


def _clock(profile: Profile, decoded: Decoded) -> Grade:
    """Compare the device's clock with the computer's: a wrong unit or wrap shows."""
    if not profile.clock.tick_s or decoded.n_lost is None:
        return Grade.UNKNOWN
    device_hz, arrival_hz = decoded.device_rate_hz, decoded.arrival_rate_hz
    if device_hz is None or arrival_hz is None:
        return Grade.UNKNOWN
    sent_hz = arrival_hz * (1.0 + decoded.n_lost / decoded.n_samples)
    return Grade.GOOD if abs(device_hz / sent_hz - 1.0) < _CLOCK_WRONG else Grade.BAD


def _loss(decoded: Decoded) -> Grade:
    if decoded.n_lost is None:
        return Grade.UNKNOWN
    share = decoded.n_lost / (decoded.n_lost + decoded.n_samples)
    return Grade.DOUBTFUL if share > _LOSSY or decoded.n_restarts else Grade.GOOD


def _axes(turned: Turning | None) -> Grade:
    if turned is None or turned.best_explained < _EXPLAINED:
        return Grade.UNKNOWN
    if 1.0 - turned.best_explained > _DECISIVE * (1.0 - turned.next_explained):
        return Grade.UNKNOWN
    return Grade.GOOD if turned.best_axes == ("+x", "+y", "+z") else Grade.BAD


def _scale(turned: Turning | None) -> Grade:
    if turned is None or _axes(turned) is not Grade.GOOD:
        return Grade.UNKNOWN
    return Grade.GOOD if abs(turned.scale - 1.0) < _SCALE_WRONG else Grade.BAD


def _off(by: float | None, doubtful: float, bad: float) -> Grade:
    if by is None:
        return Grade.UNKNOWN
    return Grade.BAD if by > bad else Grade.DOUBTFUL if by > doubtful else Grade.GOOD


def _held(decoded: Decoded) -> bool:
    """Tell whether the largest rate on any axis is repeated without change, although no reading counts as saturated."""
    if decoded.n_saturated or decoded.n_samples < _HELD_SAMPLES:
        return False
    size = np.abs(decoded.gyr_rad_s)
    top = size >= size.max() * (1.0 - 1e-9) if size.max() > 0.0 else np.zeros(size.shape, dtype=bool)
    run = np.ones(len(top) - _HELD_SAMPLES + 1, dtype=bool)[:, None]
    for i in range(_HELD_SAMPLES):
        run = run & top[i : len(top) - _HELD_SAMPLES + 1 + i]
    return bool(run.any())
