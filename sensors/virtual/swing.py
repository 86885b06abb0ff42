"""One golf swing as keyframes, from a sound one to the fault this project is for.

The fault is one number from 0 (lead wrist flat or a little bowed) to 1 (cupped early): with it the forearm rolls less, the
trunk turns less and the swing is shorter. Shapes and sizes are plausible, not measured: common practice, no source.
Timing follows published medians: shaft level at half, lead arm level at 0.69 of the backswing (1400 annotated swings,
McNally et al. 2019, "GolfDB", CVPR Workshops).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from sensors.virtual.timeline import Timeline

ADDRESS: Final = {
    "tilt": 33.0,
    "turn": 0.0,
    "plane": 76.0,
    "theta": 3.0,
    "roll": 0.0,
    "flexion": -9.0,
    "ulnar": 18.0,
    "axial": 0.0,
    "z_m": -0.03,
}

Path = Mapping[str, Sequence[tuple[float, float]]]
"""By joint: fractions of the duration, and the values there."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SwingShape:
    """What distinguishes one swing from the next."""

    fault: float = 0.0
    backswing_s: float = 0.87
    """Of a full backswing; one cut short takes its share."""
    downswing_s: float = 0.27
    reach: float = 1.0
    """Share of the backswing made: 1 to the top, about 0.6 in a pitch shot with the lead arm short of level."""
    pause_s: float = 0.0
    """Wait at the top."""
    flat: bool = False
    """The lead arm has all but arrived while wrists and trunk go on: its highest point is flat."""
    strikes: bool = True
    """A ball, or the ground, is hit; a practice swing meets nothing."""


def swing(timeline: Timeline, shape: SwingShape) -> tuple[float, float]:
    """From address to the held finish; gives the instants at which top and impact are commanded."""
    backswing(timeline, shape)
    timeline.hold(shape.pause_s)
    top_s = timeline.now_s
    return top_s, downswing(timeline, shape)


def backswing(timeline: Timeline, shape: SwingShape) -> None:
    """The way back alone."""
    timeline.path(shape.backswing_s * shape.reach, _back(shape))


def downswing(timeline: Timeline, shape: SwingShape) -> float:
    """The way down, through, and to the held finish; gives the instant at which impact is commanded."""
    timeline.path(shape.downswing_s, _down(shape))
    impact_s = timeline.now_s
    timeline.path(0.75, _through(0.35 + 0.65 * shape.reach))
    timeline.hold(0.9)
    return impact_s


def _back(shape: SwingShape) -> Path:
    f, flexion, reach = shape.fault, ADDRESS["flexion"], shape.reach
    theta = 143.0 - 22 * f
    path: Path = {
        "turn": ((0.25, -12.0), (0.5, -40.0 + 10 * f), (0.69, -62.0 + 17 * f), (0.97, -88.0 + 25 * f)),
        "plane": ((0.25, 75.0), (0.5, 70.0), (0.69, 64.0), (1.0, 56.0)),
        "theta": ((0.2, 9.0), (0.5, 52.0), (0.69, 91.0), *(((0.88, theta - 0.4),) if shape.flat else ()), (1.0, theta)),
        "roll": ((0.2, 8.0 - 5 * f), (0.5, 48.0 - 24 * f), (0.69, 82.0 - 30 * f), (1.0, 98.0 - 28 * f)),
        "flexion": ((0.2, flexion + 1 - 11 * f), (0.45, flexion + 3 - 26 * f), (0.69, flexion + 6 - 33 * f),
                    (1.0, flexion + 10 - 34 * f)),
        "ulnar": ((0.25, 14.0), (0.5, 0.0), (0.69, -16.0), (0.97, -24.0)),
        "axial": ((0.5, 1.0), (1.0, -1.5)),
        "x_m": ((0.6, 0.025), (1.0, 0.02)),
    }  # fmt: skip
    return path if reach >= 1.0 else {name: _cut(name, points, reach) for name, points in path.items()}


def _cut(name: str, points: Sequence[tuple[float, float]], reach: float) -> Sequence[tuple[float, float]]:
    """Make only the first part of the way; fractions count to its end."""
    fractions, values = zip((0.0, ADDRESS.get(name, 0.0)), *points, strict=True)
    end = float(np.interp(reach, fractions, values))
    return (*((f / reach, value) for f, value in points if f < 0.9 * reach), (1.0, end))


def _down(shape: SwingShape) -> Path:
    f, flexion = shape.fault, ADDRESS["flexion"]
    full: Path = {
        "turn": ((0.45, -45.0 + 12 * f), (1.0, 32.0)),
        "plane": ((0.5, 64.0), (1.0, 75.0)),
        "theta": ((0.12, 141.0 - 22 * f), (0.55, 78.0 - 8 * f), (1.0, -4.0)),
        "roll": ((0.5, 78.0 - 16 * f), (1.0, 2.0)),
        "flexion": ((0.5, flexion + 12 - 24 * f), (1.0, flexion + 12 - 8 * f)),
        "ulnar": ((0.2, -26.0), (0.55, -23.0), (1.0, 16.0)),
        "axial": ((1.0, 1.0),),
        "x_m": ((1.0, -0.04),),
    }
    if shape.reach >= 1.0:
        return full
    tops = {name: points[-1][1] for name, points in _back(SwingShape(fault=f)).items()}
    starts = {name: points[-1][1] for name, points in _back(shape).items()}
    return {name: _shrunk(points, tops[name], starts[name]) for name, points in full.items()}


def _shrunk(points: Sequence[tuple[float, float]], top: float, start: float) -> Sequence[tuple[float, float]]:
    """Come down the same way from a lower start."""
    end = points[-1][1]
    return [(f, end + (value - end) * (start - end) / (top - end)) for f, value in points]


def _through(size: float) -> Path:
    """From impact to the finish; a short swing ends low."""
    full: Path = {
        "turn": ((0.3, 60.0), (0.8, 105.0)),
        "plane": ((0.3, 70.0), (0.8, 58.0)),
        "theta": ((0.25, -55.0), (0.8, -140.0)),
        "roll": ((0.25, -55.0), (0.8, -85.0)),
        "flexion": ((0.3, -15.0), (0.8, -20.0)),
        "ulnar": ((0.3, 10.0), (0.8, -20.0)),
        "axial": ((1.0, 0.0),),
        "x_m": ((1.0, -0.08),),
        "tilt": ((1.0, 12.0),),
    }
    if size >= 1.0:
        return full
    return {
        name: [(f, ADDRESS.get(name, 0.0) + size * (value - ADDRESS.get(name, 0.0))) for f, value in points]
        for name, points in full.items()
    }


def waggle(timeline: Timeline) -> None:
    """Wrists and forearms move the head a little back and forth over the ball, then settle."""
    a = ADDRESS
    timeline.path(
        0.9,
        {
            "ulnar": ((0.25, a["ulnar"] - 11), (0.5, a["ulnar"] + 2), (0.75, a["ulnar"] - 8), (1.0, a["ulnar"])),
            "theta": ((0.25, a["theta"] + 7), (0.5, a["theta"] - 1), (0.75, a["theta"] + 5), (1.0, a["theta"])),
            "roll": ((0.25, a["roll"] + 6), (0.5, a["roll"]), (0.75, a["roll"] + 4), (1.0, a["roll"])),
        },
    )
