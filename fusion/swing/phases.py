"""The swing as a table: from each phase, what ends it and what follows.

Rule 1: everything about the order of phases stands in TABLE; the detector walks it and knows no phase by name but those at
which it begins or ends to count something.
Rule 2: the rules of a phase are tried in order, once per sample; the first that holds decides.
Rule 3: a rule sees a `View` only: the present instant, what was true when the phase began, and extremes since.

What tells a swing from its rehearsal is the speed with which the shaft comes to the ball, not the way back: a rehearsal
passes the same phases slowly, is cued like a swing, and makes no rep. Limits were set by margin over simulated motion;
`tests/truth/test_not_swings.py` holds them to it. Published figures they must leave room for: downswings of 0.2 to 0.3 s
(1400 annotated swings, McNally et al. 2019, "GolfDB", CVPR Workshops, at an assumed 30 frames a second), a slow student's up
to 0.5 s (common practice, no source).
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

from fusion.outputs.instant import Phase


@dataclass(slots=True)
class View:
    """What a rule may look at. Angles in radians, times in seconds, rates in rad/s."""

    since_s: float
    """Time in this phase."""
    since_top_s: float
    """Time since the top; counts only after it."""
    club_turn: float
    arm_turn: float
    shaft_elevation: float
    arm_elevation: float
    shaft_off: float
    shaft_rise: float
    """Shaft elevation above that at address."""
    rise_highest: float
    """Greatest `shaft_rise` since the takeaway."""
    away_s: float
    """Time since the club was last at the ball, within `AT_REST` of its attitude at address."""
    shaft_trail: float
    """Component of the unit shaft away from the target."""
    arm_highest: float
    """Greatest arm elevation since the takeaway, or since the arm last began to go up again."""
    arm_lowest: float
    """Smallest arm elevation since the top."""
    shaft_nearest: float
    """Smallest `shaft_off` since the top."""
    closing: float
    """Rate at which the shaft came to where it was nearest, over the 50 ms before."""
    hole_s: float
    """Longest time between two instants since just before the top: samples that were lost."""
    club_rate: float
    """Rate of `club_turn` over the last 25 ms."""
    arm_rate: float
    """Rate of `arm_elevation` over the last 25 ms."""
    stir: float
    """The fastest change of any angle in this view over the last 50 ms."""


@dataclass(frozen=True, slots=True)
class Rule:
    """When `holds`, go `to`."""

    to: Phase
    why: str
    holds: Callable[[View], bool]


def _deg(value: float) -> float:
    return math.radians(value)


AT_REST = _deg(9.0)
"""The club is at the ball: a waggle may have left it a little off."""
SHAFT_MOVED = _deg(14.0)
ARM_MOVED = _deg(12.0)
"""A waggle is made by the wrists: by then the arm has turned 10 deg at most, in a swing 14 to 24."""
WRISTY = (_deg(24.0), _deg(8.0))
"""Shaft and arm of a takeaway begun with the wrists."""
SET_OFF_S = 0.8
"""A takeaway, in slow motion too, takes no longer from `AT_REST` to `SHAFT_MOVED`."""
SHAFT_ROSE = _deg(2.5)
"""A player who only turns or steps does not raise the shaft."""
AWAY_S = 1.2
"""A club that has left the ball without a takeaway for so long is not coming back to it."""
SANK = _deg(8.0)
"""Going back the shaft only rises; trembling and the estimator's error stay within this."""
LINGERED_S = 0.6
"""A takeaway in slow motion is further than `NEAR_BALL` by then."""
LEFT_BALL = 0.12
"""Shaft this far to the trail side: about 7 deg."""
LEVEL_TRAIL = 0.3
"""A shaft that is level on the way back points away from the target: 0.4 to 0.95 in swings, 0 when raised before the body."""
CLUB_BACK = _deg(4.0)
"""The whole club is as it was at address."""
SHORTEST_TOP = _deg(-45.0)
"""An arm that turns back below this was no backswing but a waggle or a start broken off."""
FALLEN = _deg(0.06)
FALLING = _deg(-5.0)
"""The arm has turned back when it is FALLEN below its highest and falls at this rate per second: trembling is slower."""
WENT_ON = _deg(1.5)
"""An arm this far above where it seemed to have turned back had only hesitated."""
COMING_DOWN = _deg(5.0)
PASSED = _deg(4.0)
"""Beyond its nearest the shaft has passed the ball."""
AT_BALL = _deg(45.0)
"""A shaft that passes so near passes the ball: a driver swung low, a club that has slipped, a sensor that saturated."""
FAST = _deg(185.0)
"""The shaft comes to the ball with at least this per second: in simulation pitch shots from 280, a slow student's full swing
from 375, rehearsals that stop at the ball 122 at most."""
LONGEST_DOWNSWING_S = 0.65
"""Slower is slow motion."""
HOLE_S = 0.03
"""One lost packet hides the passing of the ball; the rep is made all the same, in doubt where the loss was long."""
WANDERED_S = 5.0
"""An arm that goes up again and again for so long is not hesitating in a swing."""
RESTING = _deg(60.0)
NEAR_BALL = _deg(20.0)
"""A club that moves less than RESTING per second within NEAR_BALL has been brought back to the ball."""

_RESTED = Rule(
    Phase.ADDRESS,
    "the club came to rest at the ball: a rehearsal",
    lambda v: v.since_s > 0.1 and v.shaft_off < NEAR_BALL and v.arm_elevation < SHORTEST_TOP and v.stir < RESTING,
)


def _gave_up(after_s: float) -> Rule:
    return Rule(Phase.IDLE, f"nothing more for {after_s:g} s", lambda v: v.since_s > after_s)


def _turned_back(v: View) -> bool:
    return v.since_s > 0.04 and v.arm_elevation < v.arm_highest - FALLEN and v.arm_rate < FALLING


def _past(v: View) -> bool:
    return v.shaft_nearest < _deg(90.0) and v.shaft_off > v.shaft_nearest + _deg(25.0)


def _up_again(v: View) -> bool:
    return v.arm_elevation > v.arm_lowest + _deg(8.0)


TABLE: Final[dict[Phase, tuple[Rule, ...]]] = {
    # IDLE -> ADDRESS is the one step taken outside the table: it needs a rest, not a sample.
    Phase.IDLE: (),
    Phase.ADDRESS: (
        Rule(
            Phase.TAKEAWAY,
            "club and arm have left the ball",
            lambda v: (
                v.shaft_off > SHAFT_MOVED
                and (v.arm_turn > ARM_MOVED or (v.shaft_off > WRISTY[0] and v.arm_turn > WRISTY[1]))
                and v.away_s < SET_OFF_S
                and v.shaft_rise > SHAFT_ROSE
                and v.club_rate > _deg(15.0)
                and v.shaft_trail > LEFT_BALL
            ),
        ),
        Rule(
            Phase.IDLE,
            "the player turned away without swinging",
            lambda v: v.club_turn > _deg(60.0) or v.away_s > AWAY_S,
        ),
        _gave_up(20.0),
    ),
    Phase.TAKEAWAY: (
        Rule(
            Phase.SHAFT_LEVEL,
            "the shaft lies level",
            lambda v: v.shaft_elevation >= 0 and v.arm_turn > _deg(15.0) and v.shaft_trail > LEVEL_TRAIL,
        ),
        Rule(Phase.IDLE, "the shaft rose before the body, not back", lambda v: v.shaft_elevation > _deg(10.0)),
        Rule(Phase.ADDRESS, "the club came back to the ball", lambda v: v.since_s > 0.1 and v.club_turn < CLUB_BACK),
        Rule(
            Phase.ADDRESS,
            "the shaft sank again before it was level",
            lambda v: v.shaft_rise < v.rise_highest - SANK,
        ),
        Rule(
            Phase.ADDRESS,
            "the club hung about the ball",
            lambda v: v.since_s > LINGERED_S and v.shaft_off < NEAR_BALL,
        ),
        Rule(
            Phase.IDLE,
            "the club turned without rising: the player stepped or turned",
            lambda v: v.club_turn > _deg(35.0) and v.shaft_rise < _deg(10.0),
        ),
        _gave_up(4.0),
    ),
    Phase.SHAFT_LEVEL: (
        Rule(Phase.ARM_LEVEL, "the lead arm lies level", lambda v: v.arm_elevation >= 0),
        Rule(
            Phase.TOP,
            "the lead arm turned back, short of level",
            lambda v: v.arm_highest > SHORTEST_TOP and _turned_back(v),
        ),
        Rule(
            Phase.ADDRESS,
            "the shaft sank below level again, the arm never up",
            lambda v: v.shaft_elevation < -SANK,
        ),
        _gave_up(4.0),
    ),
    Phase.ARM_LEVEL: (
        Rule(Phase.TOP, "the lead arm turned back", _turned_back),
        _gave_up(4.0),
    ),
    Phase.TOP: (
        Rule(
            Phase.SHAFT_LEVEL,
            "the arm went on up: it had only hesitated",
            lambda v: v.arm_elevation > v.arm_highest + WENT_ON,
        ),
        Rule(Phase.DOWNSWING, "the arm is coming down", lambda v: v.arm_elevation < v.arm_highest - COMING_DOWN),
        _gave_up(3.0),
    ),
    Phase.DOWNSWING: (
        Rule(
            Phase.IMPACT,
            "the shaft passed where it lay at address, with speed",
            lambda v: (
                v.shaft_nearest < AT_BALL
                and v.shaft_off > v.shaft_nearest + PASSED
                and v.closing > FAST
                and v.since_top_s < LONGEST_DOWNSWING_S
            ),
        ),
        _RESTED,
        Rule(
            Phase.FINISH,
            "the shaft passed far from where it lay, with speed, or while samples were lost",
            lambda v: (
                v.since_top_s - v.hole_s < LONGEST_DOWNSWING_S
                and (v.closing > FAST or v.hole_s > HOLE_S)
                and (_past(v) or _up_again(v))
            ),
        ),
        Rule(Phase.IDLE, "the shaft passed slowly: a rehearsal", _past),
        Rule(
            Phase.SHAFT_LEVEL,
            "the arm went up again before the ball",
            lambda v: v.shaft_nearest > AT_BALL and _up_again(v) and v.away_s < WANDERED_S,
        ),
        Rule(
            Phase.IDLE, "the arm goes up and down far from the ball", lambda v: _up_again(v) and v.away_s >= WANDERED_S
        ),
        _gave_up(3.0),
    ),
    Phase.IMPACT: (
        Rule(Phase.FINISH, "the club is past the ball", lambda v: v.since_s > 0.025 and v.shaft_off > _deg(45.0)),
        _gave_up(0.5),
    ),
    Phase.FINISH: (
        Rule(Phase.IDLE, "the club has come to rest", lambda v: v.since_s > 0.15 and v.stir < RESTING),
        _gave_up(1.2),
    ),
}

BACKSWING: Final = (Phase.TAKEAWAY, Phase.SHAFT_LEVEL, Phase.ARM_LEVEL)
CHECKPOINTS: Final = (Phase.SHAFT_LEVEL, Phase.ARM_LEVEL, Phase.TOP, Phase.IMPACT)
