"""A swing as an orientation file in the form that OpenSim's inertial tools read (`.sto`, quaternions, scalar first).

Ground is theirs: X forward, Y up, Z to the right, of a player who faces the ball; X forward is then outward over the ball.
"""

from __future__ import annotations

from pathlib import Path
from typing import Final

import numpy as np
from scipy.spatial.transform import Rotation

from sensors.ids import Side
from server.export.motion import SwingMotion

GROUND_FROM_EARTH: Final = Rotation.from_matrix([[0.0, 1.0, 0.0], [0.0, 0.0, 1.0], [1.0, 0.0, 0.0]])
_COLUMNS: Final = {"forearm": "radius_{side}_imu", "hand": "hand_{side}_imu", "club": "club_imu"}


def write_orientations(path: Path, motion: SwingMotion, lead: Side) -> None:
    """Write the frames that are known; time counts from the takeaway. Raises OSError when the disk fails."""
    side = "l" if lead is Side.LEFT else "r"
    columns = [_COLUMNS[name].format(side=side) for name in motion.poses]
    lines = [
        f"DataRate={motion.rate_hz:.6f}", "DataType=Quaternion", "version=3", "OpenSimVersion=4.1", "endheader",
        "\t".join(["time", *columns]),
    ]  # fmt: skip
    quats = [(GROUND_FROM_EARTH * rotations).as_quat(scalar_first=True) for rotations in motion.poses.values()]
    for i in np.flatnonzero(motion.known):
        cells = [",".join(f"{value:.9f}" for value in quat[i]) for quat in quats]
        lines.append("\t".join([f"{motion.t_s[i] - motion.rep.takeaway_s:.6f}", *cells]))
    path.write_text("\n".join(lines) + "\n", encoding="ascii")
