"""One golf swing as keyframes, from a sound one to the fault this project is for.

The fault is one number from 0 (lead wrist flat or a little bowed) to 1 (cupped early): with it the forearm rolls less, the
trunk turns less and the swing is shorter. Shapes and sizes are plausible, not measured: common practice, no source.
Timing follows published medians: shaft level at half, lead arm level at 0.69 of the backswing (1400 annotated swings,
McNally et al. 2019, "GolfDB", CVPR Workshops).
"""

from __future__ import annotations

from dataclasses import dataclass

from sensors.virtual.timeline import Timeline

ADDRESS = {
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


@dataclass(frozen=True, slots=True, kw_only=True)
class SwingShape:
    """What distinguishes one swing from the next."""

    fault: float = 0.0
    backswing_s: float = 0.87
    downswing_s: float = 0.27


def swing(timeline: Timeline, shape: SwingShape) -> None:
    """From address to the held finish."""
    f = shape.fault
    a = ADDRESS
    back = {
        "turn": ((0.25, -12.0), (0.5, -40.0 + 10 * f), (0.69, -62.0 + 17 * f), (0.97, -88.0 + 25 * f)),
        "plane": ((0.25, 75.0), (0.5, 70.0), (0.69, 64.0), (1.0, 56.0)),
        "theta": ((0.2, 9.0), (0.5, 52.0), (0.69, 91.0), (1.0, 143.0 - 22 * f)),
        "roll": ((0.2, 8.0 - 5 * f), (0.5, 48.0 - 24 * f), (0.69, 82.0 - 30 * f), (1.0, 98.0 - 28 * f)),
        "flexion": (
            (0.2, a["flexion"] + 1 - 11 * f),
            (0.45, a["flexion"] + 3 - 26 * f),
            (0.69, a["flexion"] + 6 - 33 * f),
            (1.0, a["flexion"] + 10 - 34 * f),
        ),
        "ulnar": ((0.25, 14.0), (0.5, 0.0), (0.69, -16.0), (0.97, -24.0)),
        "axial": ((0.5, 1.0), (1.0, -1.5)),
        "x_m": ((0.6, 0.025), (1.0, 0.02)),
    }
    down = {
        "turn": ((0.45, -45.0 + 12 * f), (1.0, 32.0)),
        "plane": ((0.5, 64.0), (1.0, 75.0)),
        "theta": ((0.12, 141.0 - 22 * f), (0.55, 78.0 - 8 * f), (1.0, -4.0)),
        "roll": ((0.5, 78.0 - 16 * f), (1.0, 2.0)),
        "flexion": ((0.5, a["flexion"] + 12 - 24 * f), (1.0, a["flexion"] + 12 - 8 * f)),
        "ulnar": ((0.2, -26.0), (0.55, -23.0), (1.0, 16.0)),
        "axial": ((1.0, 1.0),),
        "x_m": ((1.0, -0.04),),
    }
    through = {
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
    timeline.path(shape.backswing_s, back)
    timeline.path(shape.downswing_s, down)
    timeline.path(0.75, through)
    timeline.hold(0.9)


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
