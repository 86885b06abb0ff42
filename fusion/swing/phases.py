"""The swing as a table: from each phase, what ends it and what follows.

Rule 1: everything about the order of phases stands in TABLE; the detector walks it and knows no phase by name but those at
which a rep begins and ends.
Rule 2: the rules of a phase are tried in order, once per sample; the first that holds decides.
Rule 3: a rule sees a `View` only: the present instant, what was true when the phase began, and extremes since.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

from fusion.outputs import Phase


@dataclass(slots=True)
class View:
    """What a rule may look at. Angles in radians, times in seconds."""

    since_s: float
    """Time in this phase."""
    club_turn: float
    arm_turn: float
    shaft_elevation: float
    arm_elevation: float
    shaft_off: float
    shaft_rise: float
    """Shaft elevation above that at address."""
    shaft_trail: float
    """Component of the unit shaft away from the target."""
    arm_highest: float
    """Greatest arm elevation since the takeaway."""
    shaft_nearest: float
    """Smallest `shaft_off` since the top."""
    club_rate: float
    """Rate of `club_turn`, rad/s, over the last 25 ms."""


@dataclass(frozen=True, slots=True)
class Rule:
    """When `holds`, go `to`."""

    to: Phase
    why: str
    holds: Callable[[View], bool]


def _deg(value: float) -> float:
    return math.radians(value)


CLUB_MOVED = _deg(16.0)
ARM_MOVED = _deg(3.0)
LEFT_BALL = 0.12
"""Shaft this far to the trail side: about 7 deg."""
CLUB_BACK = _deg(4.0)
SHORTEST_TOP = _deg(-25.0)
"""An arm that turns back below this was no backswing but a waggle or a start broken off."""
FALLEN = _deg(0.6)
"""The arm has turned back when it is this far below its highest: 20 ms after the top of a usual swing."""
PASSED = _deg(4.0)
AT_BALL = _deg(30.0)

_WAGGLE = Rule(Phase.ADDRESS, "the club came back to the ball", lambda v: v.since_s > 0.1 and v.club_turn < CLUB_BACK)


def _gave_up(after_s: float) -> Rule:
    return Rule(Phase.IDLE, f"nothing more for {after_s:g} s", lambda v: v.since_s > after_s)


TABLE: Final[dict[Phase, tuple[Rule, ...]]] = {
    # IDLE -> ADDRESS is the one step taken outside the table: it needs a rest, not a sample.
    Phase.IDLE: (),
    Phase.ADDRESS: (
        Rule(
            Phase.TAKEAWAY,
            "club and arm have left the ball",
            lambda v: (
                v.club_turn > CLUB_MOVED
                and v.arm_turn > ARM_MOVED
                and v.club_rate > _deg(15.0)
                and v.shaft_trail > LEFT_BALL
            ),
        ),
        Rule(Phase.IDLE, "the player turned away without swinging", lambda v: v.club_turn > _deg(60.0)),
        _gave_up(20.0),
    ),
    Phase.TAKEAWAY: (
        Rule(
            Phase.SHAFT_LEVEL,
            "the shaft lies level",
            lambda v: v.shaft_elevation >= 0 and v.arm_turn > _deg(15.0) and v.shaft_trail > 0.3,
        ),
        _WAGGLE,
        Rule(
            Phase.IDLE,
            "the club turned without rising: the player stepped or turned",
            lambda v: v.club_turn > _deg(35.0) and v.shaft_rise < _deg(10.0),
        ),
        _gave_up(3.0),
    ),
    Phase.SHAFT_LEVEL: (
        Rule(Phase.ARM_LEVEL, "the lead arm lies level", lambda v: v.arm_elevation >= 0),
        Rule(
            Phase.TOP,
            "the lead arm turned back, short of level",
            lambda v: v.arm_highest > SHORTEST_TOP and v.arm_elevation < v.arm_highest - FALLEN and v.since_s > 0.06,
        ),
        _WAGGLE,
        _gave_up(1.2),
    ),
    Phase.ARM_LEVEL: (
        Rule(
            Phase.TOP,
            "the lead arm turned back",
            lambda v: v.arm_elevation < v.arm_highest - FALLEN and v.since_s > 0.04,
        ),
        _gave_up(1.5),
    ),
    Phase.TOP: (
        Rule(Phase.DOWNSWING, "the arm is coming down", lambda v: v.arm_elevation < v.arm_highest - _deg(5.0)),
        _gave_up(1.5),
    ),
    Phase.DOWNSWING: (
        Rule(
            Phase.IMPACT,
            "the shaft passed where it lay at address",
            lambda v: v.shaft_nearest < AT_BALL and v.shaft_off > v.shaft_nearest + PASSED,
        ),
        _gave_up(1.5),
    ),
    Phase.IMPACT: (
        Rule(Phase.FINISH, "the club is past the ball", lambda v: v.shaft_off > _deg(45.0)),
        _gave_up(0.5),
    ),
    Phase.FINISH: (_gave_up(1.2),),
}

BACKSWING: Final = (Phase.TAKEAWAY, Phase.SHAFT_LEVEL, Phase.ARM_LEVEL)
CHECKPOINTS: Final = (Phase.SHAFT_LEVEL, Phase.ARM_LEVEL, Phase.TOP, Phase.IMPACT)
