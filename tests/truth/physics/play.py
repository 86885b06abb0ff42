"""The engine run along a given motion: what ideal sensors would read, and where everything is.

`mj_inverse` takes position, velocity and acceleration as they are and evaluates every sensor, accelerometers included;
`test_engine.py` checks its answers against numerical derivatives of the engine's own poses.
"""

from __future__ import annotations

import mujoco
import numpy as np
from numpy.typing import NDArray


def play(
    model: mujoco.MjModel,
    q: NDArray[np.float64],
    qd: NDArray[np.float64],
    qdd: NDArray[np.float64],
) -> NDArray[np.float64]:
    """Sensor values, shape (n, nsensordata), for positions, velocities and accelerations of shape (n, nv)."""
    data = mujoco.MjData(model)
    out = np.empty((len(q), model.nsensordata))
    qpos, qvel, qacc, read = data.qpos, data.qvel, data.qacc, data.sensordata
    inverse = mujoco.mj_inverse
    for i in range(len(q)):
        qpos[:] = q[i]
        qvel[:] = qd[i]
        qacc[:] = qdd[i]
        inverse(model, data)
        out[i] = read
    return out
