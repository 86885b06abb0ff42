"""A sensor that is laid down and turned by hand, as docs/adding-a-sensor.md asks for, and its packets of the open profile."""

from __future__ import annotations

import numpy as np
from scipy.spatial.transform import Rotation

from sensors.events import RawPacket
from sensors.ids import SensorId
from sensors.profiles.open_imu import OPEN_IMU, pack

G = 9.80665


def hand_turned(rate_hz, seed=4):
    """Rate (rad/s) and specific force (m/s2) of a sensor that lies still and is turned about each axis while that lies level.

    scipy's Rotation makes the orientations; nothing of the project's own.
    """
    rng = np.random.default_rng(seed)
    rest = np.zeros((int(2 * rate_hz), 3))
    wave = np.radians(110.0) * np.sin(np.linspace(0, 4 * np.pi, int(6 * rate_hz)))[:, None]
    over = np.full((int(1.5 * rate_hz), 1), np.radians(60.0))  # a quarter turn, so that z comes to lie level
    x, y, z = np.eye(3)
    rates = np.vstack([rest, wave * x, rest, wave * y, rest, over * y, rest, wave * z, rest])
    q, forces = Rotation.from_euler("xyz", [4, -3, 10], degrees=True), []
    for rate in rates:
        forces.append(q.inv().apply([0, 0, G]))
        q = q * Rotation.from_rotvec(rate / rate_hz)
    noise = rng.normal(0, 1, (len(rates), 6))
    return rates + 0.002 * noise[:, :3], np.array(forces) + 0.02 * noise[:, 3:]


def open_packets(rates, forces, *, sensor="a", spoil=lambda payload, _: payload):
    counts = np.rint(
        np.hstack([rates / OPEN_IMU.gyr.si_per_count, forces / OPEN_IMU.acc.si_per_count])
    ).astype(np.int16)  # fmt: skip
    out = []
    for k in range(len(counts) // 10):
        end_s = (k + 1) * 0.05
        payload = pack(sequence=k, clock_us=round(end_s * 1e6), counts=counts[10 * k : 10 * k + 10])
        out.append(
            RawPacket(arrival_ns=round((end_s + 0.01) * 1e9), sensor=SensorId(sensor), payload=spoil(payload, k))
        )
    return out
