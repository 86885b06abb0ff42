"""Plausible students for the coach's page, invented people all of them, and a swing as frames."""

from __future__ import annotations

import asyncio
from typing import Any

from fusion.outputs.instant import Phase
from fusion.outputs.rep import Verdict
from sensors.events import RepMark
from sensors.ids import Side
from server.wire import FrameMessage, HelloMessage, PhaseMessage, PlayerView
from server.wire_board import BoardBay, BoardCourse, BoardRep
from server.wire_lesson import BayRef
from tests.e2e import samples
from tests.e2e.feed import Feed

NAMES = (
    ("mara-voss", "Mara Voss", "7-iron", Side.LEFT),
    ("tom-okafor", "Tom Okafor", "driver", Side.RIGHT),
    (
        "long",
        "Maximiliane-Charlotte von Hohenstetten-Falkenberg",
        "gap wedge, the old one with the bent shaft",
        Side.LEFT,
    ),
    ("li", "Li", "9-iron", Side.LEFT),
    ("anders", "Anders Lindqvist", "5-wood", Side.RIGHT),
    ("priya", "Priya Raman", "7-iron", Side.LEFT),
)


def bay(index: int = 0, **changes: Any) -> BoardBay:
    """At lead arm level, cupped."""
    slug, name, club, side = NAMES[index]
    return BoardBay(
        id=slug,
        name=f"Bay {index + 1}",
        player=PlayerView(name=name, lead_side=side, club=club),
        status="live",
        phase=Phase.ARM_LEVEL,
        bend_change_deg=-17.0,
        shaft_pitch_deg=66.0,
        sounding=True,
        drill="Flat wrist going back",
        course=BoardCourse(block=1, n_blocks=4, rep=3, reps=10, testing=False),
        n_reps=13,
        n_judged=12,
        n_in_band=7,
        last_rep=BoardRep(index=13, verdict=Verdict.BELOW, worst_deg=-17.0, mark=RepMark.NONE),
        control="student",
        problem=None,
    ).model_copy(update=changes)


def quiet(index: int, status: str, **changes: Any) -> BoardBay:
    """A student of whom nothing fresh is known."""
    nothing = {"phase": None, "bend_change_deg": None, "shaft_pitch_deg": None, "sounding": False}
    return bay(index, status=status, **nothing, **changes)


def six() -> list[BoardBay]:
    """All there is to say of a student, over six of them."""
    return [
        bay(0),
        bay(
            1,
            phase=Phase.IDLE,
            bend_change_deg=4.0,
            shaft_pitch_deg=None,
            sounding=False,
            control="coach",
            last_rep=BoardRep(index=4, verdict=Verdict.IN_BAND, worst_deg=3.0, mark=RepMark.GOOD),
        ),
        bay(2, drill="Flat wrist at the top, held for a moment before the way down"),
        quiet(3, "stale", problem="Forearm sensor: the link was lost. Bring the computer nearer."),
        quiet(4, "waiting", n_reps=0, n_judged=0, n_in_band=0, last_rep=None, course=None),
        quiet(5, "ended"),
    ]


def hello(index: int = 0, **changes: Any) -> HelloMessage:
    """Greets the coach's page for one student."""
    slug, name, club, side = NAMES[index]
    return samples.hello(
        player=PlayerView(name=name, lead_side=side, club=club),
        bay=BayRef(id=slug, name=f"Bay {index + 1}"),
        drills=samples.choices(),
        course=samples.course(),
    ).model_copy(update=changes)


MARKS = {Phase.SHAFT_LEVEL: 0.4, Phase.ARM_LEVEL: 0.6, Phase.TOP: 0.85}
FRAME_S = 0.025


def swing_frames(start_s: float, *, worst_deg: float = -17.0) -> list[FrameMessage | PhaseMessage]:
    """One swing at 40 frames a second, phases before the frames of their instants: bend goes to its worst at lead arm level."""
    out: list[FrameMessage | PhaseMessage] = []
    phase = Phase.ADDRESS
    order = [(0.0, Phase.TAKEAWAY), *((at_s, mark) for mark, at_s in MARKS.items()), (1.0, Phase.DOWNSWING)]
    steps = [*order, (1.2, Phase.FINISH)]
    for i in range(-12, 56):
        at_s = i * FRAME_S
        while steps and at_s >= steps[0][0] - 1e-9:
            phase = steps[0][1]
            out.append(PhaseMessage(t_s=start_s + steps.pop(0)[0], phase=phase))
        rise = max(0.0, min(1.0, at_s / 0.6)) if at_s <= 0.6 else max(0.0, 1.0 - (at_s - 0.6))
        out.append(
            samples.frame(
                seq=i,
                t_s=round(start_s + at_s, 6),
                phase=phase,
                bend_change_deg=worst_deg * rise,
                shaft_pitch_deg=None if 0.3 < at_s < 0.5 else 57.0 + 9.0 * rise,
                roll_change_deg=40.0 * rise,
                face_twist_deg=-31.0 * rise,
            )
        )
    return out


async def play(feed: Feed, start_s: float, *, worst_deg: float = -17.0, pause_s: float = 0.002) -> None:
    """Send a swing, faster than it is swung: its times are its own."""
    feed.now = None
    for message in swing_frames(start_s, worst_deg=worst_deg):
        await feed.send_timed(message)
        await asyncio.sleep(pause_s)
