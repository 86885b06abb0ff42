"""How good a fit is: how well each constant is known, and how the sensors were found to sit."""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np

from fusion.calibration.fit import BodyFit
from fusion.calibration.turned import STANCE_SD_RAD
from fusion.club_state import DISTAL
from fusion.joints.wrist import lead_sign
from fusion.outputs.fit import ArmSide, Constant, FitReport, Mounting
from fusion.rotation import Vec, dot, inverse, rotate
from sensors.ids import Move, Role
from sensors.profiles.base import Worn

_UNSHOWN_RAD = math.radians(45.0)
"""What is known no better than this is not known."""
_ALONG = math.cos(math.radians(45.0))
_PARTS = {
    Constant.FOREARM_AXIS: (0, 2),
    Constant.FOREARM_ROLL: (1,),
    Constant.BEND_AXIS: (0, 1),
    Constant.HINGE_AXIS: (4, 5),
    Constant.SHAFT: (6, 7),
    Constant.HAND_CLUB: (3, 4, 5),
}
"""The small turns that move each constant, by their place in the covariance: an axis is moved by turns about the two others."""


def report_of(fit: BodyFit, worn: Mapping[Role, Worn | None]) -> FitReport:
    """Measure a fit; `worn` is how each kind of sensor is meant to sit, if it is meant to sit any way."""
    variance = np.diag(np.array(fit.covariance))
    sds = {constant: math.sqrt(float(variance[list(parts)].sum())) for constant, parts in _PARTS.items()}
    if Move.ADDRESS in fit.moves:
        # One address shows it as well as golfers repeat theirs, to the tilt of gravity against the shaft.
        sds[Constant.CLIP_ROLL] = math.hypot(STANCE_SD_RAD, sds[Constant.SHAFT])
    return FitReport(
        sd_rad={constant: sds[constant] for constant in Constant if sds.get(constant, math.inf) < _UNSHOWN_RAD},
        mountings=(_forearm(fit, worn.get(Role.FOREARM)), _club(fit, worn.get(Role.CLUB))),
    )


def _forearm(fit: BodyFit, worn: Worn | None) -> Mounting:
    down = rotate(fit.q_sensor_from_forearm, DISTAL)
    axis, off_rad = _nearest(down)
    if worn is None:
        return Mounting(role=Role.FOREARM, axis=axis, off_rad=off_rad, upside_down=None)
    volar, _, z = rotate(inverse(fit.q_sensor_from_forearm), worn.top)
    thumb = lead_sign(fit.side) * z
    side = None
    if math.hypot(volar, thumb) > _ALONG:
        if abs(volar) > abs(thumb):
            side = ArmSide.PALM if volar > 0 else ArmSide.BACK
        else:
            side = ArmSide.THUMB if thumb > 0 else ArmSide.LITTLE_FINGER
    return Mounting(role=Role.FOREARM, axis=axis, off_rad=off_rad, upside_down=_upside_down(worn, down), side=side)


def _club(fit: BodyFit, worn: Worn | None) -> Mounting:
    axis, off_rad = _nearest(fit.shaft_sensor)
    upside_down = None if worn is None else _upside_down(worn, fit.shaft_sensor)
    return Mounting(role=Role.CLUB, axis=axis, off_rad=off_rad, upside_down=upside_down)


def _upside_down(worn: Worn, down: Vec) -> bool:
    """Whether the end meant to point to elbow or butt points to hand or head; a sensor worn crosswise does neither."""
    return dot(worn.up, down) > _ALONG


def _nearest(down: Vec) -> tuple[str, float]:
    """The signed axis of the sensor that points up most nearly along the segment, and the angle between."""
    k = max(range(3), key=lambda i: abs(down[i]))
    return f"{'-' if down[k] > 0 else '+'}{'xyz'[k]}", math.acos(min(1.0, abs(down[k])))
