"""What the swing detector looks at, at each instant from an address onward: the angles, and how far all is from how it stood."""

from __future__ import annotations

import math
from collections import deque
from typing import NamedTuple

from fusion.address import Address
from fusion.calibration.fit import BodyFit
from fusion.club_state import ClubState
from fusion.outputs.instant import Angles
from fusion.pairing import Pair
from fusion.rotation import Quat, angle, angle_between, relative
from fusion.shaft.butt_line import ButtLine
from fusion.shaft.pitch import elevation
from fusion.swing_angles import Look, SwingAngles, Zero

_STOOD_TICKS = 6
"""The wrist's zero is the mean over so many ticks before the takeaway: a wrist at address trembles and drifts."""


class Instant(NamedTuple):
    """One instant: the angles, and what the swing detector looks at."""

    t_s: float
    angles: Angles
    state: ClubState
    wrist_possible: bool
    club_turn_rad: float
    """Size of the club's whole rotation since address."""
    arm_turn_rad: float
    shaft_off_rad: float
    """Angle between the shaft and its direction at address."""
    shaft_rise_rad: float
    """Shaft elevation above that at address."""
    shaft_trail: float
    """How much of the unit shaft points away from the target, along the target line: 1 when level in the backswing."""
    arm_off_rad: float = 0.0
    """Angle between the lead forearm's long axis and its direction at address."""
    forearm_force_m_s2: float | None = None
    """Size of the specific force on the forearm sensor at this instant; None when its sample is not at hand."""
    club_force_m_s2: float | None = None
    """The same of the club sensor; of its sample nearest in time."""


class SwingMeasure:
    """Counts from one address."""

    def __init__(self, address: Address, fit: BodyFit, butt: ButtLine | None = None) -> None:
        self._address = address
        self._angles = SwingAngles(address, fit, butt)
        self._stood: deque[Zero] = deque(maxlen=_STOOD_TICKS)
        self._trail_sign = -self._angles.sign
        """On which side of the player (x of the address earth, to the right) the trail side lies."""
        self._club_at_address = relative(address.q_earth_from_club, address.q_earth_from_club_free)
        """Times the club's free orientation: its turn since address."""
        self._arm = self.state.arm()
        self._shaft_elevation_rad = elevation(address.shaft)

    @property
    def zero(self) -> Zero:
        """What changes since address are counted from."""
        return self._angles.zero

    @property
    def state(self) -> ClubState:
        """Arm and club at address."""
        return self._angles.state

    def stands(self, q_club_free: Quat, limit_rad: float) -> bool:
        """Whether the club has turned no more than this since address: asked of every sample while a golfer stands."""
        w, x, y, z = self._club_at_address
        a, b, c, d = q_club_free
        return abs(w * a - x * b - y * c - z * d) >= math.cos(limit_rad / 2)

    def stand(self, pair: Pair) -> Instant:
        """Advance to the next instant, one a tick, at which the club still stands at the ball: the zero goes along."""
        look = self._angles.look(pair)
        _, _, _, (flexion, ulnar, axial), roll, face, *_ = look
        self._stood.append(Zero(flexion, ulnar, roll, face, axial))
        self._angles.zero = Zero(*(sum(values) / len(values) for values in zip(*self._stood, strict=True)))
        return self._instant(pair, look)

    def push(self, pair: Pair) -> Instant:
        """Advance to the next instant, in order; steps must be small enough that twists about a moving axis add up."""
        return self._instant(pair, self._angles.look(pair))

    def _instant(self, pair: Pair, look: Look) -> Instant:
        t_s, _, _, force_forearm, force_club = pair
        address = self._address
        angles, state, shaft_rad, wrist, _, _, q_forearm, shaft, arm = look
        return Instant(  # in their order: named, they take twice as long
            t_s,
            angles,
            state,
            wrist.possible,
            angle(relative(address.q_earth_from_club, state.q_earth_from_club)),
            angle(relative(address.q_earth_from_forearm, q_forearm)),
            angle_between(shaft, address.shaft),
            shaft_rad - self._shaft_elevation_rad,
            self._trail_sign * shaft[0],
            angle_between(arm, self._arm),
            force_forearm,
            force_club,
        )
