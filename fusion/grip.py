"""Has the club been let go and taken anew since the last swing? A new grip moves the zero of the wrist.

Two signs, both from the two sensors against each other:

    let go    from the last address on the wrist is followed by angular rate. A hand that holds the club bends and hinges it,
              within what wrists do; a club that is spun in the fingers, laid aside or dropped lies where no wrist can have it. Or
              it lies still while the forearm turns.
    a step    at the address bend or hinge are further from those of the addresses before than the player's own scatter.

The heading between the sensors drifts meanwhile, so the longer the last address is ago, the more is taken for a wrist.
"""

from __future__ import annotations

import math
from collections import deque
from statistics import median
from typing import Final

from fusion.address import Address
from fusion.calibration.fit import BodyFit
from fusion.joints.wrist import MAX_EXTENSION_RAD, MAX_FLEXION_RAD, MAX_RADIAL_RAD, MAX_ULNAR_RAD, anatomical_angles
from fusion.outputs.rep import RepFlag
from fusion.pairing import Pair
from fusion.rotation import angle, mul, relative

PLAY_RAD: Final = math.radians(22.0)
"""More than a wrist turns about the forearm, with the fit's error and a club that gives way in the hand..."""
DRIFT_RAD_S: Final = math.radians(0.12)
"""... and what the heading may have drifted by."""
LASTS_S: Final = 0.4
"""A grip that gives way in a blow is back sooner."""
STILL_RAD, TURNED_RAD, STILL_S = math.radians(1.0), math.radians(30.0), 1.0
"""No hand holds a club so still while its forearm turns so far."""
STEP_SD_RAD: Final = math.radians(2.5)
"""Scatter of the wrist from address to address before the player's own is known, by simulation, no source..."""
STEP_WEIGHT: Final = 4
"""... which counts as so many addresses."""
STEP_LIMIT_SDS: Final = 4.0
STEP_LEAST_RAD: Final = math.radians(8.0)
STEP_AFTER: Final = 3
"""So many addresses must have been seen."""
_MOST_KEPT: Final = 40


class GripWatch:
    """One fit's. Tell it of addresses and reps and give it an instant a tick."""

    def __init__(self, fit: BodyFit) -> None:
        self.fit = fit
        self._address: Address | None = None
        self._lost_s: float | None = None
        """Since when the club has been where no wrist has it."""
        self._let_go = False
        self._stepped = False
        self._wrists: list[tuple[float, float]] = []
        """Bend and hinge at the addresses of reps, since the grip was last taken."""
        self._second: deque[Pair] = deque()

    @property
    def flags(self) -> tuple[RepFlag, ...]:
        """What the next rep must say."""
        return (RepFlag.REGRIPPED,) if self._let_go or self._stepped else ()

    def stood(self, address: Address) -> None:
        """The golfer stands to the ball: from here on the wrist is followed."""
        self._address, self._lost_s = address, None
        self._stepped = any(
            _is_step([wrist[k] for wrist in self._wrists], value) for k, value in enumerate(_bend_and_hinge(address))
        )

    def swung(self) -> None:
        """A rep was made from the last address, with the grip as it now is."""
        if self._let_go or self._stepped:
            self._wrists.clear()
        self._let_go = self._stepped = False
        if self._address is not None:
            self._wrists.append(_bend_and_hinge(self._address))
            del self._wrists[:-_MOST_KEPT]

    def look(self, pair: Pair, trouble_s: float) -> None:
        """Look at an instant, once a tick, between swings; `trouble_s` is when orientations last ceased to be followed."""
        if self._address is not None and trouble_s > self._address.t_s:
            self._address = None  # the wrist cannot be followed until the next one
        if self._second and self._second[0][0] < trouble_s:
            self._second.clear()
        self._let_go = self._let_go or self._lies_still(pair) or self._is_lost(pair)

    def _is_lost(self, pair: Pair) -> bool:
        address = self._address
        if address is None:
            return False
        fit = self.fit
        forearm = mul(mul(address.q_earth_from_forearm_free, pair[1]), fit.q_sensor_from_forearm)
        hand = mul(mul(address.q_earth_from_club_free, pair[2]), fit.q_sensor_from_hand)
        wrist = anatomical_angles(relative(forearm, hand), fit.side)
        room = PLAY_RAD + DRIFT_RAD_S * (pair[0] - address.t_s)
        over = max(
            abs(wrist.axial_rad),
            wrist.flexion_rad - MAX_FLEXION_RAD,
            -MAX_EXTENSION_RAD - wrist.flexion_rad,
            wrist.ulnar_rad - MAX_ULNAR_RAD,
            -MAX_RADIAL_RAD - wrist.ulnar_rad,
        )
        if over < room:
            self._lost_s = None
            return False
        if self._lost_s is None:
            self._lost_s = pair[0]
        return pair[0] - self._lost_s >= LASTS_S

    def _lies_still(self, pair: Pair) -> bool:
        second = self._second
        second.append(pair)
        while len(second) > 1 and second[1][0] <= pair[0] - STILL_S:
            second.popleft()
        first = second[0]
        if pair[0] - first[0] < 0.8 * STILL_S or angle(relative(first[2], pair[2])) > STILL_RAD:
            return False
        return angle(relative(first[1], pair[1])) > TURNED_RAD


def _bend_and_hinge(address: Address) -> tuple[float, float]:
    return address.wrist.flexion_rad, address.wrist.ulnar_rad


def _is_step(usual: list[float], value: float) -> bool:
    if len(usual) < STEP_AFTER:
        return False
    middle = median(usual)
    squares = sum((one - middle) ** 2 for one in usual)
    sd = math.sqrt((STEP_WEIGHT * STEP_SD_RAD**2 + squares) / (STEP_WEIGHT + len(usual) - 1))
    return abs(value - middle) > max(STEP_LIMIT_SDS * sd * math.sqrt(1.0 + 1.0 / len(usual)), STEP_LEAST_RAD)
