"""How both sensors lie at this moment, for whoever leads the golfer through the fit: whether a move is taken up.

Whoever leads begins a move when it is, instead of after a fixed time. Nothing here moves a number: when a move was begun stands
in the recording.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np

from fusion.orientation.track import SensorTrack
from fusion.orientation.window import Stretch
from fusion.rotation import Vec
from sensors.ids import PAIR, Role

LOOKED_S: Final = 0.8
"""So far back is looked."""
CALM_RAD_S: Final = math.radians(12.0)
"""A sensor that turns no faster is still: as still as a held move has to be."""
LIES_RAD_S: Final = math.radians(0.3)
"""One that trembles less lies on something: a hand trembles by 0.5 to 2 deg/s (set in simulation)."""
_LIES_S: Final = 0.5
_BLOCKS: Final = 5
_UP_S: Final = 0.2


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """Inclinations are against the horizontal, whichever end is up; None before the move that shows the axis."""

    still_s: Mapping[Role, float]
    """For how long each has been still, `LOOKED_S` at most."""
    lies: bool
    """Both lie on something: no hand is so still."""
    arm_rad: float | None
    shaft_rad: float | None


def standing_of(tracks: Mapping[Role, SensorTrack], axes: Mapping[Role, Vec], t_s: float) -> Standing | None:
    """Look at the samples up to `t_s`; `axes` are those of forearm and shaft as their moves showed them, in sensor axes."""
    stretches = {role: track.recent(LOOKED_S, t_s) for role, track in tracks.items()}
    seen = {role: stretch for role, stretch in stretches.items() if stretch is not None}
    if len(seen) < len(PAIR):
        return None
    still = {role: _still_s(stretch, tracks[role]) for role, stretch in seen.items()}
    tilts = {role: _inclination(seen[role], axis) for role, axis in axes.items() if role in seen}
    return Standing(
        still_s=still,
        lies=all(_lies(stretch) for stretch in seen.values()),
        arm_rad=tilts.get(Role.FOREARM),
        shaft_rad=tilts.get(Role.CLUB),
    )


def _still_s(stretch: Stretch, track: SensorTrack) -> float:
    rates = stretch.gyr_rad_s - track.bias.bias_rad_s
    fast = np.flatnonzero(np.einsum("ij,ij->i", rates, rates) > CALM_RAD_S**2)
    since_s = stretch.t_s[fast[-1]] if len(fast) else stretch.t_s[0]
    return float(stretch.t_s[-1] - since_s)


def _lies(stretch: Stretch) -> bool:
    """Means over a tenth of a second hardly differ: noise averages out, a hand's tremor does not."""
    end_s = stretch.t_s[-1]
    if stretch.t_s[0] > end_s - _LIES_S:
        return False
    recent = stretch.gyr_rad_s[stretch.t_s > end_s - _LIES_S]
    per_block = len(recent) // _BLOCKS
    if not per_block:
        return False
    means = recent[-per_block * _BLOCKS :].reshape(_BLOCKS, per_block, 3).mean(axis=1)
    off = means - means.mean(axis=0)
    return bool(np.einsum("ij,ij->", off, off) < _BLOCKS * LIES_RAD_S**2)


def _inclination(stretch: Stretch, axis: Vec) -> float:
    up = stretch.acc_m_s2[stretch.t_s >= stretch.t_s[-1] - _UP_S].mean(axis=0)
    rise = float(up @ np.asarray(axis)) / max(float(np.linalg.norm(up)), 1e-9)
    return math.asin(min(abs(rise), 1.0))
