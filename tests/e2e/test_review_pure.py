"""The review page's calculations, the page's own code in Chromium: phases, mean and spread, order, the model that is drawn.

Outside truth: numpy for mean and spread, SciPy for turns, and the points that are exported for laboratories.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from playwright.async_api import Page
from scipy.spatial.transform import Rotation

from server.export.markers import markers
from server.export.motion import SwingMotion
from tests.e2e.conftest import OpenPage
from tests.e2e.feed import Feed

KNOTS = [0.0, 0.4, 0.6, 0.9, 1.2]


@pytest.fixture
async def page(open_page: OpenPage, feed: Feed) -> Page:
    page = await open_page(path="/#review")
    await page.wait_for_function("window.__pitchbendReview")
    return page


async def test_phases_are_divided_evenly_between_marks_and_have_holes_beside_one_not_passed(page: Page) -> None:
    places = await page.evaluate(
        "([knots, times]) => times.map((t) => window.__pitchbendReview.pure.phaseAt(t, knots))",
        [KNOTS, [-0.1, 0.0, 0.2, 0.4, 0.75, 0.9, 1.05, 1.2, 1.3]],
    )
    assert places == [None, 0, 0.5, 1, pytest.approx(2.5), 3, pytest.approx(3.5), 4, None]
    half = [0.0, 0.4, None, 0.9, 1.2]  # the arm never came to level
    got = await page.evaluate(
        "(k) => [0.2, 0.5, 0.8, 1.05].map((t) => window.__pitchbendReview.pure.phaseAt(t, k))", half
    )
    assert got == [0.5, None, None, pytest.approx(3.5)]
    back = await page.evaluate("(k) => [0.5, 1.5, 3.5].map((p) => window.__pitchbendReview.pure.timeAt(p, k))", half)
    assert back == [pytest.approx(0.2), None, pytest.approx(1.05)]
    # Marks come by name; one that is dated before the mark ahead of it is none.
    marks = [{"name": name, "t_s": t_s} for name, t_s in (("top", 0.9), ("shaft_level", 0.4), ("lead_arm_level", 0.3))]
    found = await page.evaluate("(marks) => window.__pitchbendReview.pure.knotsOf(marks)", marks)
    assert found == [0, 0.4, None, 0.9, None]


async def test_mean_and_spread_are_numpys_and_need_three_reps(page: Page) -> None:
    random = np.random.default_rng(7)
    reps = random.normal(size=(5, 8)).round(3).tolist()
    reps[1][2] = reps[2][2] = reps[3][2] = None  # two of five know it
    reps[0][4] = None
    got = await page.evaluate("(reps) => window.__pitchbendReview.pure.meanSpread(reps)", reps)
    table = np.array([[np.nan if v is None else v for v in rep] for rep in reps])
    known = [i for i in range(8) if i != 2]
    assert np.array(got["mean"])[known].astype(float) == pytest.approx(np.nanmean(table, axis=0)[known])
    assert np.array(got["sd"])[known].astype(float) == pytest.approx(np.nanstd(table, axis=0, ddof=1)[known])
    assert (got["mean"][2], got["sd"][2], got["n"][2]) == (None, None, 2)
    two = await page.evaluate("(reps) => window.__pitchbendReview.pure.meanSpread(reps)", reps[:2])
    assert set(two["mean"]) == {None}


async def test_between_samples_is_a_straight_line_and_across_a_hole_none(page: Page) -> None:
    at = [0.0, 0.01, 0.02, 0.2, 0.21, 0.22]
    values = [0.0, 1.0, None, 5.0, 175.0, 170.0]
    places = [0.0, 0.005, 0.015, 0.1, 0.205, 0.215, 0.3]
    got = await page.evaluate("([a, v, p]) => window.__pitchbendReview.pure.resample(a, v, p)", [at, values, places])
    assert got == [0, pytest.approx(0.5), None, None, None, pytest.approx(172.5), None]


def rep(number: int, **changes: Any) -> dict[str, Any]:
    plain = {
        "number": number,
        "stint": 0,
        "kind": "cued",
        "verdict": "in_band",
        "worst": 1.0,
        "top_bend_change_deg": None,
        "lead_arm_level_shaft_pitch_deg": None,
    }
    return plain | {"backswing_s": 0.9, "tempo": 3.0, "quality": "ok"} | changes


async def test_order_filters_and_the_best(page: Page) -> None:
    reps = [
        rep(1, worst=-12.0, verdict="below"),
        rep(2, worst=9.0, kind="silent"),
        rep(3, worst=None, verdict="unknown"),
        rep(4, worst=7.0),
        rep(5, worst=9.0, stint=1),
        rep(6, worst=8.5, kind="paused"),
    ]
    order = await page.evaluate(
        "(r) => [[false], [true]].map(([d]) => window.__pitchbendReview.pure.sorted(r, 'worst', d).map((x) => x.number))",
        reps,
    )
    # What is not known is last both ways, equals stay in the order they were swung.
    assert order == [[1, 4, 6, 2, 5, 3], [2, 5, 6, 4, 1, 3]]
    silent = {"stint": 0, "kind": "silent", "verdict": None}
    kept = await page.evaluate("([r, w]) => window.__pitchbendReview.pure.filtered(r, w)", [reps, silent])
    assert [one["number"] for one in kept] == [2]
    stint = {"number": 0, "low": -8.0, "high": 25.0}  # the middle is 8.5
    best = await page.evaluate("([r, s]) => window.__pitchbendReview.pure.bestOf(r, s)", [reps, stint])
    assert best["number"] == 2
    none = await page.evaluate("([r, s]) => window.__pitchbendReview.pure.bestOf(r, s)", [reps[2:3], stint])
    assert none is None


async def test_of_ten_thousand_rows_only_those_in_sight_are_drawn(page: Page) -> None:
    rows = await page.evaluate(
        "(all) => all.map(([n, s]) => window.__pitchbendReview.pure.shownRows(n, s, 480, 48))",
        [[10_000, 0], [10_000, 240_000], [10_000, 479_520], [5, 0], [0, 0]],
    )
    assert [(one["first"], one["end"]) for one in rows] == [(0, 16), (4994, 5016), (9984, 10_000), (0, 5), (0, 0)]
    # First, end, and the row with the focus; moved a little, far, far with a focus, back to it, to the end, to a shorter list.
    moves = [(0, 6, None), (2, 8, None), (50, 56, 4), (3, 9, 4), (90, 96, 4), (2, 4, None), (10, 16, None)]
    steps = await page.evaluate(
        """
        (moves) => {
          let slots = [];
          return moves.map(([first, end, held]) => (slots = window.__pitchbendReview.pure.slotsOf(slots, { first, end }, held)));
        }
        """,
        moves,
    )
    before: dict[int, int] = {}
    for (first, end, held), slots in zip(moves, steps, strict=True):
        rows = [slot["at"] for slot in slots]
        assert rows == sorted({*range(first, end), *([] if held is None else [held])})
        piece = {slot["at"]: slot["key"] for slot in slots}
        assert len(set(piece.values())) == len(rows)
        assert {row: key for row, key in before.items() if row in piece}.items() <= piece.items()
        before = piece
    # Where nothing stays they keep their order, so that no piece of the document is put elsewhere.
    assert len({slot["key"] for step in steps[:2] for slot in step}) == 6


async def test_the_figure_drawn_is_the_one_exported_to_laboratories(page: Page) -> None:
    turns = {name: Rotation.random(12, random_state=i) for i, name in enumerate(("forearm", "hand", "club"))}
    motion = SwingMotion(
        rep=None,  # type: ignore[arg-type]  # its points do not ask for it
        rate_hz=100.0,
        t_s=np.arange(12) / 100,
        known=np.ones(12, dtype=bool),
        poses=turns,
    )
    points = markers(motion, club_length_m=0.9, arm_length_m=0.65)
    quats = {name: turn.as_quat(scalar_first=True).tolist() for name, turn in turns.items()}
    got = await page.evaluate(
        """
        (q) => {
          const poses = q.forearm.map((_, i) => ({ forearm: q.forearm[i], hand: q.hand[i], club: q.club[i] }));
          const model = new window.__pitchbendReview.pure.Model(poses[0], 0.65, 0.9);
          return poses.map((one) => model.figure(one));
        }
        """,
        quats,
    )
    # The other-handed laid over: the model of the mirrored swing, made anew, is the mirrored model.
    apart = await page.evaluate(
        """
        (q) => {
          const { Model, mirrored } = window.__pitchbendReview.pure;
          const poses = q.forearm.map((_, i) => ({ forearm: q.forearm[i], hand: q.hand[i], club: q.club[i] }));
          const model = new Model(poses[0], 0.65, 0.9);
          const seen = poses.map((one) => mirrored({ poses: one, figure: model.figure(one) }));
          const other = new Model(seen[0].poses, 0.65, 0.9);
          const names = ['hub', 'elbow', 'wrist', 'hands', 'butt', 'head', 'toe'];
          return seen.flatMap(({ poses, figure }) => {
            const own = other.figure(poses);
            return names.flatMap((name) => own[name].map((x, i) => Math.abs(x - figure[name][i])));
          });
        }
        """,
        quats,
    )
    assert max(apart) < 1e-9
    for name in ("hub", "hands", "butt", "head"):
        assert np.array([one[name] for one in got]) == pytest.approx(points[name.upper()], abs=1e-9), name
    # The hand leads from the wrist to the hands the way it was measured, the forearm likewise to the wrist.
    for name, (a, b) in {"hand": ("wrist", "hands"), "forearm": ("elbow", "wrist")}.items():
        along = np.array([np.subtract(one[b], one[a]) for one in got])
        distal = turns[name].apply([0.0, -1.0, 0.0])
        assert along / np.linalg.norm(along, axis=1)[:, None] == pytest.approx(distal, abs=1e-9), name


@pytest.mark.parametrize(
    ("view", "left", "right_in_picture"),
    [
        # The player's right is on the left of a picture taken from over the ball.
        ("face_on", True, [-1, 0, 0]),
        ("face_on", False, [-1, 0, 0]),
        # From behind the hands the ball lies to the right of a player whose left arm leads, and mirrored.
        ("down_line", True, [0, 1, 0]),
        ("down_line", False, [0, -1, 0]),
    ],
)
async def test_from_where_it_is_seen(page: Page, view: str, left: bool, right_in_picture: list[float]) -> None:
    axes = await page.evaluate(
        "([v, l]) => { const p = window.__pitchbendReview.pure; return p.axesOf(p.directionOf(v, null, l)); }",
        [view, left],
    )
    assert axes["right"] == pytest.approx(right_in_picture, abs=1e-12)
    assert axes["up"] == pytest.approx([0, 0, 1], abs=1e-12)
    assert np.cross(axes["right"], axes["up"]) == pytest.approx(np.array(axes["toEye"]), abs=1e-12)
