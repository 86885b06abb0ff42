"""The angles at each instant of a swing, counted from one address onward.

This is most of the arithmetic of a practice: a swing's instants, and fourteen copies of it that are a little wrong (`spread.py`).
"""

from __future__ import annotations

from typing import NamedTuple

from fusion.address import Address
from fusion.calibration.fit import BodyFit
from fusion.club_state import DISTAL, ClubState
from fusion.joints.settling import Settling, levers
from fusion.joints.wrist import WristAngles, anatomical_angles, lead_sign
from fusion.outputs.instant import Angles
from fusion.pairing import Pair
from fusion.rotation import Quat, Vec, about_z, exp, mul, relative, rotate
from fusion.shaft.butt_line import ButtLine, dips
from fusion.shaft.pitch import elevation, pitch
from fusion.shaft.twist import AxialTurn

FROM_ELBOW = 0.6
"""How much of the arm's roll since address the forearm makes itself: shoulder and trunk turn it too, and shear no skin at the
wrist. By simulation, no source."""
_PROXIMAL: Vec = (0.0, 1.0, 0.0)


class Zero(NamedTuple):
    """What changes since address are counted from, radians."""

    bend_rad: float
    hinge_rad: float
    roll_rad: float
    """Since the rest that gave the orientations, as is the face's."""
    face_rad: float
    axial_rad: float


Look = tuple[Angles, ClubState, float, WristAngles, float, float, Quat, Vec, Vec]
"""One instant's angles; forearm and club as they are told; shaft elevation; wrist, roll and face, from which the next zero is
taken; the forearm as its sensor alone shows it; shaft, and arm as its sensor alone shows it."""


class SwingAngles:
    """Push instants in order; steps must be small enough that twists about a moving axis add up."""

    def __init__(self, address: Address, fit: BodyFit, butt: ButtLine | None = None, *, play_rad: float = 0.0) -> None:
        """Begin at an address. `play_rad` is axial play of the wrist to be reckoned with that is not there."""
        self._fit = fit
        self.zero = Zero(*address.wrist[:2], 0.0, 0.0, address.wrist.axial_rad)
        self.state = ClubState(address.q_earth_from_forearm, address.q_earth_from_club)
        """At address."""
        self.butt = butt or ButtLine.at_address(address.shaft, self.state.arm())
        self._forearm_free, self._club_free = address.q_earth_from_forearm_free, address.q_earth_from_club_free
        q_hand = mul(address.q_earth_from_club, fit.q_sensor_from_hand)
        self._settling = Settling(levers(address.q_earth_from_forearm, q_hand, address.wrist, fit.side))
        self._play_rad = play_rad
        # Pronation sense turns a left forearm the negative way about its proximal axis. Seen from the player, looking down the
        # shaft, the face of a club led by the left arm opens clockwise: the positive way about butt-to-head.
        self.sign = lead_sign(fit.side)
        self._skin_share = fit.skin_lag * FROM_ELBOW
        self._roll = AxialTurn(_PROXIMAL, address.q_earth_from_forearm)
        self._face = AxialTurn(fit.shaft_sensor, address.q_earth_from_club)

    def push(self, pair: Pair) -> Angles:
        """Advance to the next instant."""
        return self.look(pair)[0]

    def seen(self, pair: Pair) -> tuple[Angles, ClubState]:
        """Advance to the next instant, for the angles and for where forearm and club lie."""
        angles, state, *_ = self.look(pair)
        return angles, state

    def look(self, pair: Pair) -> Look:
        """Advance to the next instant, for all that was met on the way."""
        _, q_forearm_free, q_club_free, _, _ = pair
        fit, zero, sign, settling = self._fit, self.zero, self.sign, self._settling
        q_forearm = mul(mul(self._forearm_free, q_forearm_free), fit.q_sensor_from_forearm)
        q_club = mul(self._club_free, q_club_free)
        roll = sign * self._roll.push(q_forearm)
        face = sign * self._face.push(q_club)
        skin = self._skin_share * roll
        q_skin = exp((0.0, sign * skin, 0.0))
        q_hand = mul(q_club, fit.q_sensor_from_hand)
        wrist = anatomical_angles(relative(q_skin, relative(q_forearm, q_hand)), fit.side)
        flexion, ulnar, axial = wrist
        shaft = rotate(q_club, fit.shaft_sensor)
        arm = rotate(q_forearm, DISTAL)
        q_bone = mul(q_forearm, q_skin)
        lever, at_address = levers(q_bone, q_hand, wrist, fit.side), settling.at_address
        turn = settling.push(axial - zero.axial_rad + self._play_rad, lever.axial, arm_level=arm[2] >= 0.0)
        bend, hinge = flexion + lever.bend * turn, ulnar + lever.hinge * turn
        # The shaft gave the common heading, so it is the forearm that is turned.
        state = ClubState(mul(about_z(-turn), q_bone), q_club)
        roll += skin
        shaft_rad = elevation(shaft)
        angles = Angles(  # in their order: naming ten of them takes as long as half of the rest
            bend,
            bend - at_address.bend * turn - zero.bend_rad,
            hinge,
            hinge - at_address.hinge * turn - zero.hinge_rad,
            roll - zero.roll_rad,
            shaft_rad,
            pitch(shaft),
            elevation(arm),
            face - zero.face_rad,
            self.butt.of(shaft, state.arm()) if dips(shaft) else None,
        )
        return angles, state, shaft_rad, wrist, roll, face, q_forearm, shaft, arm


def tilt_only(q_earth_from_forearm: Quat, q_earth_from_club: Quat, fit: BodyFit) -> Angles:
    """What can be said with no address: elevations, which need no heading. Orientations of the two sensors."""
    return Angles(
        shaft_elevation_rad=elevation(rotate(q_earth_from_club, fit.shaft_sensor)),
        arm_elevation_rad=elevation(rotate(mul(q_earth_from_forearm, fit.q_sensor_from_forearm), DISTAL)),
    )
