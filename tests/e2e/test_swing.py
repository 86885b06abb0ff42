"""Swings as lines over time: cut by the phases, holes where nothing is known, bounded. The page's own code, in Chromium."""

from __future__ import annotations

from typing import Any

import pytest
from playwright.async_api import Page

from fusion.outputs.instant import Phase
from server.wire import FrameMessage, PhaseMessage
from tests.e2e import samples
from tests.e2e.coach_samples import FRAME_S, MARKS, swing_frames
from tests.e2e.conftest import OpenPage
from tests.e2e.feed import Feed

# Feeds messages to a new recorder and gives what it has kept.
RECORD = """
(messages) => {
  const swings = window.__pitchbendCoach.newSwings();
  for (const one of messages) {
    if (one.type === 'frame') swings.onFrame(one);
    else if (one.type === 'phase') swings.onPhase(one.phase, one.t_s);
    else if (one.type === 'rep') swings.onRep(one);
    else swings[one.type]();
  }
  const { current, reps } = swings;
  return { current, reps, earlier: swings.earlier(6).map((swing) => swing.rep), ghost: swings.ghost()?.rep ?? null };
}
"""

Messages = list[FrameMessage | PhaseMessage]


def numbered(*swings: Messages) -> list[dict[str, Any]]:
    """Messages as on the wire, frames numbered through."""
    out, seq = [], 0
    for message in (one for swing in swings for one in swing):
        said = message.model_dump(mode="json")
        if said["type"] == "frame":
            seq += 1
            said["seq"] = seq
        out.append(said)
    return out


@pytest.fixture
async def page(open_page: OpenPage, feed: Feed) -> Page:
    page = await open_page(path="/#coach")
    await page.wait_for_function("window.__pitchbendCoach")
    return page


async def test_a_swing_is_cut_by_its_phases_and_dated_from_its_takeaway(page: Page) -> None:
    kept = await page.evaluate(RECORD, numbered(swing_frames(100.0)))
    swing = kept["current"]
    assert swing["startS"] == 100.0
    assert swing["over"]
    assert {mark: round(at["atS"], 6) for mark, at in swing["marks"].items()} == {str(m): s for m, s in MARKS.items()}
    # From 0.15 s before the takeaway, which was kept from before it was told, to the last frame before the finish.
    assert swing["atS"][0] == pytest.approx(-0.15)
    assert swing["atS"][-1] == pytest.approx(1.2 - FRAME_S)
    assert swing["nHoles"] == 0
    assert len(swing["atS"]) == len(swing["deg"]["bend_change"]) == len(set(swing["atS"]))
    at_arm_level = min(range(len(swing["atS"])), key=lambda i: abs(swing["atS"][i] - 0.6))
    assert swing["deg"]["bend_change"][at_arm_level] == pytest.approx(-17.0)
    assert kept["reps"] == []


async def test_a_takeaway_that_is_dated_back_gets_the_frames_of_before(page: Page) -> None:
    """The club has to move before a takeaway is told."""
    messages = numbered(swing_frames(100.0))
    told = next(i for i, one in enumerate(messages) if one["type"] == "phase")
    late = [one | {"phase": "address"} if one["type"] == "frame" else one for one in messages[told + 1 : told + 9]]
    kept = await page.evaluate(RECORD, [*messages[:told], *late, messages[told], *messages[told + 9 :]])
    assert kept["current"]["startS"] == 100.0
    assert kept["current"]["nHoles"] == 0
    assert max(b - a for a, b in zip(kept["current"]["atS"], kept["current"]["atS"][1:], strict=False)) < 1.5 * FRAME_S


async def test_what_is_not_known_is_a_hole_and_never_a_zero(page: Page) -> None:
    messages = numbered(swing_frames(100.0))
    lost = [one for one in messages if one["type"] != "frame" or not 100.2 < one["t_s"] < 100.35]
    swing = (await page.evaluate(RECORD, lost))["current"]
    assert swing["nHoles"] == 1
    assert swing["nMissed"] == len(messages) - len(lost) == 5
    in_hole = [i for i, at_s in enumerate(swing["atS"]) if 0.21 < at_s < 0.34]
    assert len(in_hole) == 1
    assert all(swing["deg"][name][in_hole[0]] is None for name in swing["deg"])
    # The shaft points along the line of view for a while: absent, and absent it stays.
    pitch = dict(zip(swing["atS"], swing["deg"]["shaft_pitch"], strict=True))
    assert all(deg is None for at_s, deg in pitch.items() if 0.31 < at_s < 0.49)
    assert not [deg for name in swing["deg"] for i, deg in enumerate(swing["deg"][name]) if deg == 0 and i > 10]


async def test_one_frame_that_was_skipped_breaks_no_line(page: Page) -> None:
    messages = numbered(swing_frames(100.0))
    frames = [i for i, one in enumerate(messages) if one["type"] == "frame" and one["t_s"] > 100.0]
    kept = await page.evaluate(RECORD, [one for i, one in enumerate(messages) if i != frames[9]])
    assert (kept["current"]["nMissed"], kept["current"]["nHoles"]) == (1, 0)


async def test_a_rep_gets_its_swing_and_a_rehearsal_none(page: Page) -> None:
    rehearsal, first, second = (numbered(swing_frames(t_s)) for t_s in (100.0, 110.0, 120.0))
    reps = [samples.rep(n, t_s=t_s).model_dump(mode="json") for n, t_s in ((1, 110.02), (2, 120.0))]
    kept = await page.evaluate(RECORD, [*rehearsal, *first, reps[0], *second])
    assert [swing["rep"] for swing in kept["reps"]] == [1]
    assert (kept["ghost"], kept["current"]["rep"]) == (1, None)
    kept = await page.evaluate(RECORD, [*rehearsal, *first, reps[0], *second, reps[1]])
    assert [swing["rep"] for swing in kept["reps"]] == [1, 2]
    assert (kept["ghost"], kept["current"]["rep"]) == (1, 2)
    stray = samples.rep(9, t_s=500.0).model_dump(mode="json")
    assert (await page.evaluate(RECORD, [*first, stray]))["reps"] == []


async def test_memory_is_bounded(page: Page) -> None:
    many: list[dict[str, Any]] = []
    for n in range(12):
        many += [*numbered(swing_frames(10.0 * n)), samples.rep(n + 1, t_s=10.0 * n).model_dump(mode="json")]
    kept = await page.evaluate(RECORD, many)
    assert [swing["rep"] for swing in kept["reps"]] == [7, 8, 9, 10, 11, 12]
    assert kept["earlier"] == [11, 10, 9, 8, 7]
    slow: Messages = [PhaseMessage(t_s=0.0, phase=Phase.TAKEAWAY)]
    slow += [samples.frame(t_s=i * FRAME_S, phase=Phase.TAKEAWAY) for i in range(2000)]
    swing = (await page.evaluate(RECORD, numbered(slow)))["current"]
    assert swing["cut"]
    assert len(swing["atS"]) == 600


async def test_another_run_of_the_clock_begins_with_nothing(page: Page) -> None:
    """A demo that starts over, and a link that was gone for seconds: neither may be drawn as one swing."""
    half = [one for one in numbered(swing_frames(100.0)) if one["t_s"] < 100.5]
    again = numbered([samples.frame(t_s=0.1, phase=Phase.ARM_LEVEL)])
    assert (await page.evaluate(RECORD, [*half, *again]))["current"] is None
    later = numbered([samples.frame(t_s=109.0, phase=Phase.ARM_LEVEL)])
    assert (await page.evaluate(RECORD, [*half, *later]))["current"] is None
    cleared = await page.evaluate(RECORD, [*half, samples.rep(1, t_s=100.0).model_dump(mode="json"), {"type": "clear"}])
    assert (cleared["current"], cleared["reps"]) == (None, [])


async def test_who_comes_in_the_middle_of_a_swing_waits_for_the_next(page: Page) -> None:
    half = [one for one in numbered(swing_frames(100.0)) if one["t_s"] > 100.5]
    assert (await page.evaluate(RECORD, half))["current"] is None
    kept = await page.evaluate(RECORD, [*half, *numbered(swing_frames(110.0))])
    assert kept["current"]["startS"] == 110.0


COLUMNS = (
    "([swings, name]) => window.__pitchbendCoach.columns(swings, name).map((one) => one.map((v) => v ?? String(v)))"
)


async def test_lines_side_by_side_break_at_holes_and_nowhere_else(page: Page) -> None:
    def swing(at_s: list[float], bend: list[float | None]) -> dict[str, Any]:
        return {"atS": at_s, "deg": {"bend_change": bend}, "marks": {}}

    swings = [swing([0.0, 0.1, 0.2], [1.0, None, 3.0]), None, swing([0.05, 0.1], [5.0, 6.0])]
    assert await page.evaluate(COLUMNS, [swings, "bend_change"]) == [
        [0, 0.05, 0.1, 0.2],
        [1, "null", "null", 3],  # broken from sample to sample, whatever rows of others lie between
        ["undefined"] * 4,
        ["undefined", 5, 6, "undefined"],
    ]


RANGE = (
    "([swing, name]) => { const c = window.__pitchbendCoach; return c.degRange(c.columns([swing], name), [], name); }"
)


async def test_a_shaft_that_passes_level_is_not_drawn_across(page: Page) -> None:
    """As in the recorded demo: 13, 7, 167, 133 degrees within a tenth of a second, the shaft nowhere near upright."""
    deg = [50.0, 13.0, 7.0, 167.0, 133.0, 100.0, 80.0]
    swing = {"atS": [0.1 * i for i in range(7)], "deg": {"shaft_pitch": deg, "bend_change": deg}, "marks": {}}
    assert (await page.evaluate(COLUMNS, [[swing], "shaft_pitch"]))[1] == [50, 13, 7, "null", 133, 100, 80]
    assert (await page.evaluate(COLUMNS, [[swing], "bend_change"]))[1] == deg
    assert await page.evaluate(RANGE, [swing, "shaft_pitch"]) == [0, 110]


SPAN = """
([drill, own, before]) => {
  const { bandSpan, markTimes } = window.__pitchbendCoach;
  return bandSpan(drill, markTimes({ marks: own }, { marks: before }));
}
"""


@pytest.mark.parametrize(
    ("phases", "own", "before", "span"),
    [
        (["takeaway", "shaft_level"], {"shaft_level": 0.4, "arm_level": 0.6}, {}, (0.0, 0.6)),
        (["arm_level"], {"arm_level": 0.6, "top": 0.9}, {}, (0.6, 0.9)),
        (["shaft_level"], {}, {"shaft_level": 0.5, "arm_level": 0.7}, (0.5, 0.7)),
        (["arm_level", "top"], {}, {"arm_level": 0.7, "top": 0.9}, (0.7, 1.0)),
        # This swing is slower than the last: the last one's lead arm level is past, and tells nothing of this one's.
        (["arm_level"], {"shaft_level": 0.8}, {"shaft_level": 0.4, "arm_level": 0.6}, None),
        (["arm_level"], {}, {}, None),
    ],
)
async def test_the_band_is_shaded_where_the_drill_counts(
    page: Page, phases: list[str], own: dict[str, float], before: dict[str, float], span: tuple[float, float] | None
) -> None:
    drill = samples.drill(phases=[Phase(phase) for phase in phases]).model_dump(mode="json")
    times = [{mark: {"atS": at_s} for mark, at_s in one.items()} for one in (own, before)]
    found = await page.evaluate(SPAN, [drill, *times])
    assert (found and (found["fromS"], found["toS"])) == (span and pytest.approx(span))
