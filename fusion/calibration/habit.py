"""What a fit shows of the player beside how the sensors sit, and what may be expected of it the next time."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from fusion.calibration.model import MoveModel
from sensors.habit import NAMES, Habit, Known

Array = NDArray[np.float64]

DAY_SD: Final = {
    "lean_rad": math.radians(2.2),
    "toward_thumb_rad": math.radians(2.2),
    "skin_lag": 0.02,
    "address_bend_rad": math.radians(3.5),
    "address_hinge_rad": math.radians(3.5),
}
"""How far each wanders from one practice to the next, one standard deviation: assumed, no source; the player's own scatter
counts instead where it is larger and enough practices show it."""
_OWN_FROM: Final = 4
_STEP: Final = 1e-5


def shown_habit(model: MoveModel, at: Array, covariance: Array) -> Habit | None:
    """What the moves show at a solution, with the covariance of all that was solved for; None without an address."""
    values = model.habit(at)
    if not np.isfinite(values).all():
        return None
    slopes = np.array([(model.habit(at + _STEP * way) - values) / _STEP for way in np.eye(model.n)]).T
    sds = np.sqrt(np.einsum("ij,jk,ik->i", slopes, covariance, slopes))
    return Habit(**{
        name: Known(value=float(value), sd=float(sd)) for name, value, sd in zip(NAMES, values, sds, strict=True)
    })  # fmt: skip


def expected_habit(earlier: Sequence[Habit]) -> Habit:
    """What to expect of the next practice after these, at least one: their mean, as unsure as days differ."""
    return Habit(**{name: _expected([getattr(one, name) for one in earlier], DAY_SD[name]) for name in NAMES})


def _expected(seen: Sequence[Known], day_sd: float) -> Known:
    values, own = np.array([one.value for one in seen]), float(np.mean([one.sd**2 for one in seen]))
    day = day_sd**2
    if len(seen) >= _OWN_FROM:
        day = max(day, float(values.var(ddof=1)) - own)
    return Known(value=float(values.mean()), sd=math.sqrt(day + (day + own) / len(seen)))
