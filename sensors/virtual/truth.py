"""The true angles of a modelled motion, computed from the chain itself and never from `fusion`.

Wrist angles are the joint coordinates. Everything "since address" counts from the given address instant. Same quantities
and signs as the readouts, in degrees.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from scipy.integrate import cumulative_trapezoid
from scipy.interpolate import BSpline

from sensors.ids import Side
from sensors.virtual.chain import Array
from sensors.virtual.golfer import Build, Segments, segments
from sensors.virtual.practice import Practice, SwingMark

COLUMNS = (
    "bend_deg", "bend_change_deg", "hinge_deg", "hinge_change_deg", "roll_change_deg", "shaft_elevation_deg",
    "shaft_pitch_deg", "arm_elevation_deg", "face_twist_deg",
)  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class SwingTruth:
    """One swing, sampled evenly from shortly before the takeaway to after impact."""

    t_s: Array
    angles: Mapping[str, Array]
    """By column name, shape (n,); shaft pitch is NaN where its projection is shorter than one half."""
    address_s: float
    shaft_level_s: float
    arm_level_s: float
    top_s: float
    """Lead arm at its highest."""
    impact_s: float
    """Shaft nearest to its direction at address."""


def shaft_pitch_deg(shaft: Array, shaft_at_address: Array) -> Array:
    """Pitch of shaft directions, shape (n, 3), seen along the address line; NaN where foreshortened below 0.5."""
    outward = shaft_at_address * np.array([1.0, 1.0, 0.0])
    outward = outward / np.linalg.norm(outward)
    across, up = shaft @ outward, shaft[:, 2]
    flip = np.where(up < 0, -1.0, 1.0)
    pitch = np.degrees(np.arctan2(flip * up, -flip * across))
    return np.where(np.hypot(across, up) < 0.5, np.nan, pitch)


def swing_truth(
    practice: Practice, mark: SwingMark, build: Build, lead_side: Side, *, rate_hz: float = 400.0
) -> SwingTruth:
    """Measure one swing on the model."""
    address_s = mark.start_s - 0.05
    t_s = np.arange(address_s, mark.impact_s + 0.3, 1.0 / rate_hz)
    body = segments(practice.curves, t_s, build, lead_side)
    angles = _angles(practice.curves, t_s, body, lead_side)
    back = (t_s >= mark.start_s) & (t_s <= mark.impact_s)
    down = (t_s > mark.top_s) & (t_s <= mark.impact_s + 0.1)
    shaft = body.shaft()
    near = shaft @ shaft[0]
    return SwingTruth(
        t_s=t_s,
        angles=angles,
        address_s=address_s,
        shaft_level_s=_first_rise(t_s[back], angles["shaft_elevation_deg"][back]),
        arm_level_s=_first_rise(t_s[back], angles["arm_elevation_deg"][back]),
        top_s=_peak(t_s[back], angles["arm_elevation_deg"][back]),
        impact_s=_peak(t_s[down], near[down]),
    )


def _angles(curves: Mapping[str, BSpline], t_s: Array, body: Segments, lead_side: Side) -> dict[str, Array]:
    shaft = body.shaft()
    bend, hinge = np.asarray(curves["flexion"](t_s)), np.asarray(curves["ulnar"](t_s))
    roll_sign = -1.0 if lead_side is Side.LEFT else 1.0
    roll_rate = roll_sign * np.einsum("ni,ni->n", body.forearm.omega_rad_s, body.forearm.R[:, :, 1])
    # Seen from the player, looking down the shaft, the face of a club led by the left arm opens clockwise: positive about
    # butt-to-head.
    shut_sign = -1.0 if lead_side is Side.LEFT else 1.0
    twist_rate = shut_sign * np.einsum("ni,ni->n", body.club.omega_rad_s, shaft)
    return {
        "bend_deg": bend,
        "bend_change_deg": bend - bend[0],
        "hinge_deg": hinge,
        "hinge_change_deg": hinge - hinge[0],
        "roll_change_deg": np.degrees(_integral(roll_rate, t_s)),
        "shaft_elevation_deg": np.degrees(np.arcsin(np.clip(shaft[:, 2], -1, 1))),
        "shaft_pitch_deg": shaft_pitch_deg(shaft, shaft[0]),
        "arm_elevation_deg": np.degrees(np.arcsin(np.clip(-body.forearm.R[:, 2, 1], -1, 1))),
        "face_twist_deg": np.degrees(_integral(twist_rate, t_s)),
    }


def _integral(rate: Array, t_s: Array) -> Array:
    """Running trapezoid integral, zero at the first instant."""
    return np.asarray(cumulative_trapezoid(np.asarray(rate, dtype=np.float64), t_s, initial=0))


def _first_rise(t_s: Array, value: Array) -> float:
    """Find when a value first passes zero upward, by linear interpolation; NaN when it never does."""
    rises = np.flatnonzero((value[:-1] < 0) & (value[1:] >= 0))
    if not len(rises):
        return float("nan")
    i = int(rises[0])
    return float(t_s[i] - value[i] * (t_s[i + 1] - t_s[i]) / (value[i + 1] - value[i]))


def _peak(t_s: Array, value: Array) -> float:
    """Find the time of the greatest value, by a parabola through it and its neighbours."""
    i = int(np.clip(np.argmax(value), 1, len(value) - 2))
    a, b, c = value[i - 1 : i + 2]
    return float(t_s[i] + 0.5 * (a - c) / (a - 2 * b + c) * (t_s[1] - t_s[0]))
