"""Points to draw and to export a swing by: on a model of given lengths, since two such sensors measure directions only.

The model is that of the butt line (`fusion/shaft/butt_line.py`): at address the head lies at the origin, a straight lead arm
leads from a hub to the hands, and the hub moves outward as the arm goes back.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation

from fusion.shaft.butt_line import ARM_LENGTH_M, CLUB_LENGTH_M, GRIP_M, HUB_OUT_M
from server.export.motion import SwingMotion

Array = NDArray[np.float64]
AXIS_M: Final = 0.1
"""Length at which the points on a segment's axes lie."""
_DISTAL: Final = np.array([0.0, -1.0, 0.0])


def markers(motion: SwingMotion, *, club_length_m: float = 0.0, arm_length_m: float = 0.0) -> dict[str, Array]:
    """Points by name, metres in the address earth, shape (n, 3); a length of 0 is unknown and taken as a common one.

    HUB, HANDS, BUTT and HEAD, and for each segment two points 0.1 m from the hands along its X and Y axes.
    """
    club_m, arm_m = club_length_m or CLUB_LENGTH_M, arm_length_m or ARM_LENGTH_M
    arm, shaft = motion.poses["forearm"].apply(_DISTAL), motion.poses["club"].apply(_DISTAL)
    start = int(np.argmax(motion.known))
    hub = -(club_m - GRIP_M) * shaft[start] - arm_m * arm[start]
    turned = np.arccos(np.clip(arm @ arm[start], -1.0, 1.0))
    out = HUB_OUT_M * np.sin(np.minimum(turned, np.pi / 2))
    hubs = hub + out[:, None] * np.array([0.0, 1.0, 0.0])
    hands = hubs + arm_m * arm
    points = {"HUB": hubs, "HANDS": hands, "BUTT": hands - GRIP_M * shaft, "HEAD": hands + (club_m - GRIP_M) * shaft}
    for name, rotations in motion.poses.items():
        points |= {f"{name.upper()}_{axis}": hands + _along(rotations, i) for axis, i in (("X", 0), ("Y", 1))}
    return points


def _along(rotations: Rotation, axis: int) -> Array:
    return np.asarray(AXIS_M * rotations.as_matrix()[:, :, axis])
