"""Whether a club still stands at the ball."""

import math

import numpy as np
import pytest

from fusion.address import Address
from fusion.calibration.fit import N_CONSTANTS, BodyFit
from fusion.joints.wrist import WristAngles
from fusion.measure import SwingMeasure
from fusion.rotation import IDENTITY, exp, mul, rotate
from sensors.ids import Side


def random_quat(rng):
    w, x, y, z = rng.normal(size=4).tolist()
    n = math.sqrt(w * w + x * x + y * y + z * z)
    return (w / n, x / n, y / n, z / n)


@pytest.mark.parametrize("flipped", [1.0, -1.0])
def test_a_club_stands_until_it_has_turned_by_the_limit_about_any_axis(flipped):
    rng = np.random.default_rng(2)
    limit_rad = math.radians(1.2)
    fit = BodyFit(
        side=Side.LEFT, q_sensor_from_forearm=IDENTITY, q_sensor_from_hand=IDENTITY, shaft_sensor=(0.0, -1.0, 0.0),
        skin_lag=0.0, covariance=tuple((0.0,) * N_CONSTANTS for _ in range(N_CONSTANTS)),
    )  # fmt: skip
    for _ in range(50):
        q_free, earth_from_free = random_quat(rng), random_quat(rng)
        at_address = mul(earth_from_free, q_free)
        measure = SwingMeasure(
            Address(
                t_s=0.0, q_earth_from_forearm_free=IDENTITY, q_earth_from_club_free=earth_from_free,
                wrist=WristAngles(0.0, 0.0, 0.0), q_earth_from_forearm=IDENTITY, q_earth_from_club=at_address,
                shaft=rotate(at_address, fit.shaft_sensor),
            ),
            fit,
        )  # fmt: skip
        axis = rng.normal(size=3)
        axis /= np.linalg.norm(axis)
        for share, stands in ((0.999, True), (1.001, False), (-0.999, True), (-1.001, False), (50.0, False)):
            turned = mul(q_free, exp(tuple((share * limit_rad * axis).tolist())))
            assert measure.stands(tuple(flipped * v for v in turned), limit_rad) is stands
