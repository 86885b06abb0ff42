"""The pictures of a report, each drawn into an axes that it is given. Ink on paper: nothing is told by colour alone."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

import numpy as np
from matplotlib.axes import Axes
from numpy.typing import NDArray

from fusion.drills.drill import Drill
from fusion.drills.quantity import Quantity
from fusion.outputs.instant import Phase
from fusion.outputs.rep import Rep, Verdict
from sensors.ids import Side
from server.export.markers import markers
from server.export.motion import SwingMotion
from server.report.gather import Array, Trace

INK: Final = "#1b1b1b"
SOFT: Final = "#8a8a8a"
BAND: Final = "#d9e4ee"
_SHAPES: Final = {Verdict.IN_BAND: "o", Verdict.BELOW: "v", Verdict.ABOVE: "^", Verdict.UNKNOWN: "x"}
_DRAWN: Final = ("HUB", "HANDS", "BUTT", "HEAD")
SHAPES_TOLD: Final = (
    "Circle: in the band. Triangle down: below it. Triangle up: above it. Cross: not known. "
    "Hollow: swung without the cue."
)
FACE_ON: Final = "face-on"
DOWN_THE_LINE: Final = "down the line"
_NEAR_LEVEL_DEG: Final = 30.0
"""A line this near to level lies across the plane in which pitch is seen: 0 and 180 are the same there."""


def draw_strip(axes: Axes, reps: Sequence[Rep]) -> None:
    """Every rep in order, its verdict by shape, hollow where the cue could not sound."""
    for verdict, shape in _SHAPES.items():
        for cued in (True, False):
            at = [rep.index for rep in reps if rep.verdict is verdict and rep.cued is cued]
            face = INK if cued or shape == "x" else "none"
            if at:
                axes.scatter(at, [0.0] * len(at), marker=shape, s=42, facecolors=face, edgecolors=INK, linewidths=1.2)
    axes.set_yticks([])
    axes.set_xlim(0.2, max(rep.index for rep in reps) + 0.8)
    axes.set_ylim(-1.0, 1.0)
    axes.set_xlabel("rep")
    for side in ("top", "left", "right"):
        axes.spines[side].set_visible(False)


def draw_bend(axes: Axes, traces: Sequence[Trace], drill: Drill) -> None:
    """Bend since address on the way back: every rep thin, the mean thick, the drill's band behind."""
    if drill.quantity is Quantity.BEND_CHANGE:
        low, high = math.degrees(drill.low), math.degrees(drill.high)
        axes.axhspan(low, high, color=BAND, zorder=0)
    _draw_lines(axes, [(trace.t_s, trace.bend_change_deg) for trace in traces])
    axes.axhline(0.0, color=SOFT, linewidth=0.6)
    axes.set_ylabel("bend since address, degrees\ncupped –   + bowed")
    axes.set_xlabel("seconds after takeaway, to the top")


def draw_pitch(axes: Axes, traces: Sequence[Trace], drill: Drill) -> None:
    """Shaft pitch, the same way."""
    if drill.quantity is Quantity.SHAFT_PITCH:
        axes.axhspan(math.degrees(drill.low), math.degrees(drill.high), color=BAND, zorder=0)
    lines = []
    for trace in traces:
        late = _past_level(trace)
        lines.append((trace.t_s[late], trace.shaft_pitch_deg[late]))
        axes.plot(*lines[-1], color=SOFT, linewidth=0.7)
    axes.set_ylabel("shaft pitch, degrees\nflat –   + steep")
    axes.set_xlabel("seconds after takeaway, to the top")


def draw_path(axes: Axes, traces: Sequence[Trace]) -> None:
    """Bend against pitch, from past shaft level to the top, where the dot is."""
    for trace in traces:
        late = _past_level(trace)
        bend, pitch = trace.bend_change_deg[late], trace.shaft_pitch_deg[late]
        axes.plot(bend, pitch, color=SOFT, linewidth=0.7)
        axes.scatter(bend[-1:], pitch[-1:], s=10, color=INK, zorder=3)
    axes.set_xlabel("bend since address, degrees")
    axes.set_ylabel("shaft pitch, degrees")


def draw_swing(axes: Axes, motion: SwingMotion, phase: Phase, view: str, lead_side: Side) -> None:
    """Lead arm (thick) and club at a mark, on a model of common lengths; the ball is the dot, the line the ground."""
    points = {name: seen_from(view, values, lead_side) for name, values in markers(motion).items() if name in _DRAWN}
    axes.set_aspect("equal")
    axes.set_axis_off()
    checkpoint = motion.rep.checkpoints.get(phase)
    if checkpoint is None:
        return
    frame = int(np.argmin(np.abs(motion.t_s - checkpoint.t_s)))
    for pair, width in ((("HUB", "HANDS"), 3.2), (("BUTT", "HEAD"), 1.4)):
        ends = np.array([points[name][frame] for name in pair])
        axes.plot(ends[:, 0], ends[:, 1], color=INK, linewidth=width, solid_capstyle="round")
    axes.axhline(0.0, color=SOFT, linewidth=0.6)
    axes.scatter([0.0], [0.02], s=14, color=INK, zorder=3)
    back = np.concatenate([values[motion.t_s <= _top_s(motion)] for values in points.values()])
    for limits, column in ((axes.set_xlim, 0), (axes.set_ylim, 1)):
        limits(float(np.nanmin(back[:, column])) - 0.1, float(np.nanmax(back[:, column])) + 0.1)


def seen_from(view: str, points_m: Array, lead_side: Side) -> Array:
    """Points of the address earth, shape (n, 3), as a camera has them: across to its right, and up; shape (n, 2).

    Face-on the camera looks at the player, whose right is its left. Down the line it looks to the target from behind the hands:
    along -x for a player whose left arm leads, along +x for the other.
    """
    if view == FACE_ON:
        return np.column_stack((-points_m[:, 0], points_m[:, 2]))
    outward = 1.0 if lead_side is Side.LEFT else -1.0
    return np.column_stack((outward * points_m[:, 1], points_m[:, 2]))


def _top_s(motion: SwingMotion) -> float:
    top = motion.rep.checkpoints.get(Phase.TOP)
    return float(motion.t_s[-1]) if top is None else top.t_s


def _past_level(trace: Trace) -> NDArray[np.bool_]:
    level = trace.rep.checkpoints.get(Phase.SHAFT_LEVEL)
    from_s = 0.0 if level is None else level.t_s - trace.rep.takeaway_s
    upright = np.abs(trace.shaft_pitch_deg - 90.0) <= 90.0 - _NEAR_LEVEL_DEG
    return (trace.t_s >= from_s) & upright


def _draw_lines(axes: Axes, lines: Sequence[tuple[Array, Array]]) -> None:
    for t_s, values in lines:
        axes.plot(t_s, values, color=SOFT, linewidth=0.7)
    lines = [(t_s, values) for t_s, values in lines if len(t_s) > 1 and np.isfinite(values).any()]
    if len(lines) > 1:
        share = np.linspace(0.0, 1.0, 101)
        even = [np.interp(share * t_s[-1], t_s, values) for t_s, values in lines]
        axes.plot(
            share * float(np.mean([t_s[-1] for t_s, _ in lines])), np.nanmean(even, axis=0), color=INK, linewidth=2.2
        )
