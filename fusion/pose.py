"""Where forearm, hand and club lie at an instant of a swing, for pictures and for laboratories.

Earth is that of the swing's address: x to the player's right, y outward over the ball, z up. Body axes are those of the wrist
convention (Wu et al. 2005, J Biomech 38:981-992) carried over to the club: Y toward the near end (elbow, wrist, butt).
"""

from __future__ import annotations

from fusion.calibration.fit import N_CONSTANTS, BodyFit
from fusion.club_state import ClubState, square_part
from fusion.outputs.instant import Pose
from fusion.rotation import IDENTITY, Quat, Vec, cross, from_axes, inverse, mul, relative, rotate, unit
from fusion.shaft.butt_line import ButtLine
from sensors.ids import Side

_DOWN_THE_SHAFT: Vec = (0.0, -1.0, 0.0)


class Posing:
    """One swing, whose address gives the club its axes."""

    def __init__(self, address: ClubState, fit: BodyFit, butt: ButtLine | None = None) -> None:
        self._butt = butt
        self._q_sensor_from_hand = fit.q_sensor_from_hand
        self._q_sensor_from_club = club_axes(address, fit)

    def of(self, state: ClubState) -> Pose:
        """Poses of the three segments."""
        q_forearm, q_club = state
        return Pose(q_forearm, mul(q_club, self._q_sensor_from_hand), mul(q_club, self._q_sensor_from_club), self._butt)


def worn_along(pose: Pose, side: Side) -> tuple[ClubState, BodyFit]:
    """Give the instant as if both sensors lay along their segments: all that a "what if" asks, without knowing how they lie.

    The fit states no uncertainty.
    """
    q_club_from_hand = relative(pose.q_earth_from_club, pose.q_earth_from_hand)
    fit = BodyFit(
        side=side,
        q_sensor_from_forearm=IDENTITY,
        q_sensor_from_hand=q_club_from_hand,
        shaft_sensor=_DOWN_THE_SHAFT,
        skin_lag=0.0,
        covariance=((0.0,) * N_CONSTANTS,) * N_CONSTANTS,
    )
    return ClubState(pose.q_earth_from_forearm, pose.q_earth_from_club), fit


def club_axes(address: ClubState, fit: BodyFit) -> Quat:
    """Club sensor from club: Y toward the butt, Z where the toe pointed at address, as square to the shaft as it can.

    X then looks to the target for a player whose left arm leads, and away from it for one whose right arm does.
    """
    x, y, z = address.shaft(fit)
    toe = unit(square_part((0.0, 1.0, 0.0), (x, y, z)))
    up_the_shaft = (-x, -y, -z)
    to_sensor = inverse(address.q_earth_from_club)
    return from_axes(*(rotate(to_sensor, v) for v in (cross(up_the_shaft, toe), up_the_shaft, toe)))
