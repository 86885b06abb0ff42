"""Scenes for the swing detector: swings of every kind among all that golfers do besides, and the true marks of each swing."""

from __future__ import annotations

import numpy as np

from fusion.outputs.instant import Phase
from sensors.ids import Side
from sensors.virtual.between import walk_off
from sensors.virtual.golfer import Build, segments
from sensors.virtual.practice import Pastime, SwingMark, pass_time
from sensors.virtual.swing import SwingShape, swing
from tests.motion import Scene, beginning

KINDS = ("usual", "slow", "pause", "flat", "pitch", "quick")
BETWEEN_S = 14.0


def draw_shape(kind: str, rng) -> SwingShape:
    """Backswings of 0.6 to 1.1 s and downswings of 0.18 to 0.35 s; a slow student's 1.2 to 1.6 and 0.4 to 0.5."""
    fault = float(rng.uniform(0.0, 1.0))
    back, down = rng.uniform(0.7, 1.1), rng.uniform(0.2, 0.33)
    match kind:
        case "slow":
            back, down = rng.uniform(1.2, 1.6), rng.uniform(0.4, 0.5)
        case "pitch":
            return SwingShape(
                fault=fault, backswing_s=back, downswing_s=rng.uniform(0.22, 0.35), reach=rng.uniform(0.56, 0.64)
            )
        case "quick":
            back, down = rng.uniform(0.6, 0.75), rng.uniform(0.18, 0.22)
        case _:
            pass
    return SwingShape(
        fault=fault, backswing_s=back, downswing_s=down, flat=kind == "flat",
        pause_s=rng.uniform(0.1, 0.6) if kind == "pause" else 0.0,
    )  # fmt: skip


def act(seed: int, n_swings: int = 12) -> tuple[Scene, list[tuple[str, SwingShape, SwingMark]], list[Pastime]]:
    """Make a scene: its swings by kind, and everything else done in it."""
    rng = np.random.default_rng(seed)
    timeline, swings, pastimes = beginning(), [], []
    for kind in rng.permutation(np.resize(KINDS, n_swings)):
        pass_time(timeline, rng, timeline.now_s + rng.uniform(0.6, 1.4) * BETWEEN_S, pastimes)
        shape = draw_shape(str(kind), rng)
        start_s = timeline.now_s
        top_s, impact_s = swing(timeline, shape)
        swings.append((str(kind), shape, SwingMark(start_s=start_s, top_s=top_s, impact_s=impact_s)))
        start_s = timeline.now_s
        walk_off(timeline, rng)
        pastimes.append(Pastime("walk_off", start_s, timeline.now_s))
    return Scene(timeline, rng, side=Side.LEFT if seed % 2 else Side.RIGHT), swings, pastimes


def true_marks(scene: Scene, shape: SwingShape, mark: SwingMark) -> dict[Phase, float]:
    """Marks of one swing on the motion itself, every half millisecond.

    The top is where the arm last turns back; after a wait, where it leaves the band in which it trembled.
    """
    t_s = np.arange(mark.start_s - 0.1, mark.impact_s + 0.15, 0.0005)
    body = segments(scene.curves, t_s, Build(), scene.side)
    shaft, arm = body.shaft(), -body.forearm.R[:, 2, 1]
    back = t_s < mark.impact_s - 0.1
    marks = {}
    for phase, height in ((Phase.SHAFT_LEVEL, shaft[:, 2]), (Phase.ARM_LEVEL, arm)):
        up = np.flatnonzero((height[:-1] < 0) & (height[1:] >= 0) & back[1:])
        if len(up):
            marks[phase] = t_s[up[0]]
    if shape.pause_s:
        began_s = mark.top_s - shape.pause_s
        waited = (t_s > began_s + 0.02) & (t_s < max(mark.top_s - 0.06, began_s + 0.04))
        marks[Phase.TOP] = t_s[np.flatnonzero(arm >= arm[waited].min())[-1]]
    else:
        marks[Phase.TOP] = t_s[np.flatnonzero((np.diff(arm) >= 0) & back[1:])[-1] + 1]
    down = t_s > marks[Phase.TOP]
    marks[Phase.IMPACT] = t_s[down][np.argmax(shaft[down] @ shaft[0])]
    return marks
