"""All quantities at each instant of a swing, from an address onward."""

from __future__ import annotations

import math
from collections import deque
from typing import NamedTuple

from fusion.address import Address
from fusion.calibration.fit import BodyFit
from fusion.club_state import DISTAL, ClubState
from fusion.joints.settling import Settling, levers
from fusion.joints.wrist import anatomical_angles, lead_sign
from fusion.outputs.instant import Angles
from fusion.pairing import Pair
from fusion.rotation import Quat, Vec, about_z, angle, angle_between, exp, mul, relative, rotate
from fusion.shaft.butt_line import ButtLine
from fusion.shaft.pitch import elevation, pitch
from fusion.shaft.twist import AxialTurn

_STOOD_TICKS = 6
"""The wrist's zero is the mean over so many ticks before the takeaway: a wrist at address trembles and drifts."""
_PROXIMAL: Vec = (0.0, 1.0, 0.0)


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


FROM_ELBOW = 0.6
"""How much of the arm's roll since address the forearm makes itself: shoulder and trunk turn it too, and shear no skin at the
wrist. By simulation, no source."""


class Zero(NamedTuple):
    """What changes since address are counted from, radians."""

    bend_rad: float
    hinge_rad: float
    roll_rad: float
    """Since the rest that gave the orientations, as is the face's."""
    face_rad: float
    axial_rad: float


_Look = tuple[Angles, float, Zero, bool, Quat, ClubState, Vec, Vec]
"""One instant's angles; shaft elevation; what the next zero would be; whether the wrist is possible; the forearm as its sensor
alone shows it; forearm and club as they are told; shaft, and arm as its sensor alone shows it."""


class SwingMeasure:
    """Counts from one address."""

    def __init__(self, address: Address, fit: BodyFit, butt: ButtLine | None = None, *, play_rad: float = 0.0) -> None:
        """Begin at an address. `play_rad` is axial play of the wrist to be reckoned with that is not there."""
        self._address = address
        self._fit = fit
        self.zero = Zero(*address.wrist[:2], 0.0, 0.0, address.wrist.axial_rad)
        q_hand = mul(address.q_earth_from_club, fit.q_sensor_from_hand)
        self._settling = Settling(levers(address.q_earth_from_forearm, q_hand, address.wrist, fit.side))
        self._play_rad = play_rad
        self._stood: deque[Zero] = deque(maxlen=_STOOD_TICKS)
        self.state = ClubState(address.q_earth_from_forearm, address.q_earth_from_club)
        """At address."""
        self.butt = butt or ButtLine.at_address(address.shaft, self.state.arm())
        # Pronation sense turns a left forearm the negative way about its proximal axis. Seen from the player, looking down the
        # shaft, the face of a club led by the left arm opens clockwise: the positive way about butt-to-head.
        self._roll_sign = lead_sign(fit.side)
        self._shut_sign = lead_sign(fit.side)
        self._trail_sign = -lead_sign(fit.side)
        """On which side of the player (x of the address earth, to the right) the trail side lies."""
        self._club_at_address = relative(address.q_earth_from_club, address.q_earth_from_club_free)
        """Times the club's free orientation: its turn since address."""
        self._arm = self.state.arm()
        self._shaft_elevation_rad = elevation(address.shaft)
        self._skin_share = fit.skin_lag * FROM_ELBOW
        self._roll = AxialTurn(_PROXIMAL)
        self._roll.restart(address.q_earth_from_forearm)
        self._face = AxialTurn(fit.shaft_sensor)
        self._face.restart(address.q_earth_from_club)

    def stands(self, q_club_free: Quat, limit_rad: float) -> bool:
        """Whether the club has turned no more than this since address: asked of every sample while a golfer stands."""
        w, x, y, z = self._club_at_address
        a, b, c, d = q_club_free
        return abs(w * a - x * b - y * c - z * d) >= math.cos(limit_rad / 2)

    def stand(self, pair: Pair) -> Instant:
        """Advance to the next instant, one a tick, at which the club still stands at the ball: the zero goes along."""
        instant, here = self._instant(pair)
        self._stood.append(here)
        self.zero = Zero(*(sum(values) / len(values) for values in zip(*self._stood, strict=True)))
        return instant

    def push(self, pair: Pair) -> Instant:
        """Advance to the next instant, in order; steps must be small enough that twists about a moving axis add up."""
        return self._instant(pair)[0]

    def _instant(self, pair: Pair) -> tuple[Instant, Zero]:
        t_s, _, _, force_forearm, force_club = pair
        address = self._address
        angles, shaft_rad, here, wrist_possible, q_forearm, state, shaft, arm = self._look(pair)
        instant = Instant(
            t_s,
            angles,
            state,
            wrist_possible,
            club_turn_rad=angle(relative(address.q_earth_from_club, state.q_earth_from_club)),
            arm_turn_rad=angle(relative(address.q_earth_from_forearm, q_forearm)),
            shaft_off_rad=angle_between(shaft, address.shaft),
            shaft_rise_rad=shaft_rad - self._shaft_elevation_rad,
            shaft_trail=self._trail_sign * shaft[0],
            arm_off_rad=angle_between(arm, self._arm),
            forearm_force_m_s2=force_forearm,
            club_force_m_s2=force_club,
        )
        return instant, here

    def angles(self, pair: Pair) -> Angles:
        """Advance as `push` does, for the bare angles."""
        return self._look(pair)[0]

    def _look(self, pair: Pair) -> _Look:
        _, q_forearm_free, q_club_free, _, _ = pair
        address, fit, zero = self._address, self._fit, self.zero
        q_forearm = mul(mul(address.q_earth_from_forearm_free, q_forearm_free), fit.q_sensor_from_forearm)
        q_club = mul(address.q_earth_from_club_free, q_club_free)
        roll = self._roll_sign * self._roll.push(q_forearm)
        face = self._shut_sign * self._face.push(q_club)
        skin = self._skin_share * roll
        q_skin = exp((0.0, self._roll_sign * skin, 0.0))
        q_hand = mul(q_club, fit.q_sensor_from_hand)
        wrist = anatomical_angles(relative(q_skin, relative(q_forearm, q_hand)), fit.side)
        flexion, ulnar, axial = wrist
        shaft = rotate(q_club, fit.shaft_sensor)
        arm = rotate(q_forearm, DISTAL)
        q_bone = mul(q_forearm, q_skin)
        settling, lever = self._settling, levers(q_bone, q_hand, wrist, fit.side)
        turn = settling.push(axial - zero.axial_rad + self._play_rad, lever.axial, arm_level=arm[2] >= 0.0)
        bend, hinge, at_address = flexion + lever.bend * turn, ulnar + lever.hinge * turn, settling.at_address
        # The shaft gave the common heading, so it is the forearm that is turned.
        state = ClubState(mul(about_z(-turn), q_bone), q_club)
        shaft_rad = elevation(shaft)
        angles = Angles(  # in their order: naming ten of them takes as long as half of the rest
            bend,
            bend - at_address.bend * turn - zero.bend_rad,
            hinge,
            hinge - at_address.hinge * turn - zero.hinge_rad,
            roll + skin - zero.roll_rad,
            shaft_rad,
            pitch(shaft),
            elevation(arm),
            face - zero.face_rad,
            self.butt.of(shaft, state.arm()),
        )
        here = Zero(flexion, ulnar, roll + skin, face, axial)
        return angles, shaft_rad, here, wrist.possible, q_forearm, state, shaft, arm


def tilt_only(q_earth_from_forearm: Quat, q_earth_from_club: Quat, fit: BodyFit) -> Angles:
    """What can be said with no address: elevations, which need no heading. Orientations of the two sensors."""
    return Angles(
        shaft_elevation_rad=elevation(rotate(q_earth_from_club, fit.shaft_sensor)),
        arm_elevation_rad=elevation(rotate(mul(q_earth_from_forearm, fit.q_sensor_from_forearm), DISTAL)),
    )
