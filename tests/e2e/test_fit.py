"""Fitting the sensors: the moves in order, the server's advice, then the gauges."""

from __future__ import annotations

from typing import Any

from playwright.async_api import expect

from fusion.outputs.fit import Constant, FitReason, FitState
from sensors.ids import Move
from server.wire import SourceView
from server.wire_fit import ConstantView, FitMessage, FitView
from tests.e2e import samples
from tests.e2e.conftest import OpenPage
from tests.e2e.feed import Feed

LIVE = SourceView(kind="live", name="built-in radio", speed=1.0)
ORDER = [Move.STILL, Move.NEUTRAL, Move.ROLL, Move.TWIRL, Move.LOCKED, Move.PALM, Move.ADDRESS]
MOVING = (Move.ROLL, Move.TWIRL, Move.LOCKED)


def news(move: Move, state: FitState, taken: list[Move], advice: str, **changes: Any) -> FitMessage:
    return FitMessage(
        move=move,
        state=state,
        reason=FitReason.NONE,
        measured=None,
        limit=None,
        advice=advice,
        fit=FitView(complete=len(taken) == len(ORDER), taken=taken),
    ).model_copy(update=changes)


async def test_the_moves_lead_to_the_gauges(open_page: OpenPage, feed: Feed) -> None:
    feed.hello = samples.hello(source=LIVE, fit=FitView(complete=False, taken=[]))
    page = await open_page()
    await expect(page.get_by_role("heading", level=1)).to_have_text("Fit the sensors to you")
    await expect(page.get_by_test_id("bend-figure")).to_have_count(0)
    taken: list[Move] = []
    for move in ORDER:
        step = page.get_by_test_id(f"fit-{move}")
        await step.get_by_role("button", name="I begin" if move in MOVING else "I am in the pose").click()
        assert (await feed.asked()).move == move
        await expect(step.get_by_role("button")).to_have_text("Watching…" if move in MOVING else "Hold still…")
        await feed.send(news(move, FitState.COLLECTING, taken, "Hold still."))
        taken = [*taken, move]
        await feed.send(news(move, FitState.TAKEN, taken, "Taken."))
        if move is not ORDER[-1]:
            await expect(step).to_contain_text("✓ taken")
    await expect(page.get_by_test_id("bend-figure")).to_have_text("0°")
    await page.get_by_role("button", name="Fit the sensors again").click()
    await expect(page.get_by_test_id("fit-still")).to_be_visible()
    await page.get_by_role("button", name="Back to the swing").click()
    await expect(page.get_by_test_id("bend-figure")).to_have_text("0°")


async def test_moves_for_more_accuracy_are_folded_away_and_can_be_made(open_page: OpenPage, feed: Feed) -> None:
    feed.hello = samples.hello(source=LIVE, fit=FitView(complete=False, taken=[]))
    page = await open_page()
    await expect(page.get_by_test_id("fit-still")).to_be_visible()
    for move in (Move.ATTITUDE, Move.BEND, Move.HINGE):
        await expect(page.get_by_test_id(f"fit-{move}")).to_be_hidden()
    await page.get_by_text("More accuracy (optional)").click()
    for move in (Move.ATTITUDE, Move.BEND, Move.HINGE):
        await expect(page.get_by_test_id(f"fit-{move}")).to_be_visible()
    await page.get_by_test_id("fit-bend").get_by_role("button", name="I begin").click()
    assert (await feed.asked()).move == Move.BEND


async def test_a_fit_that_is_enough_names_what_would_better_it(open_page: OpenPage, feed: Feed) -> None:
    taken = [move for move in ORDER if move is not Move.LOCKED]
    feed.hello = samples.hello(source=LIVE, fit=FitView(complete=True, taken=taken))
    page = await open_page()
    await expect(page.get_by_test_id("better-with")).to_have_text("The fit gets better with: wrist locked.")
    await feed.send(news(Move.LOCKED, FitState.TAKEN, ORDER, "Taken."))
    await expect(page.get_by_test_id("better-with")).to_have_count(0)


async def test_a_rejected_pose_says_what_to_do_and_can_be_tried_again(open_page: OpenPage, feed: Feed) -> None:
    feed.hello = samples.hello(source=LIVE, fit=FitView(complete=False, taken=[Move.STILL]))
    page = await open_page()
    step = page.get_by_test_id("fit-neutral")
    await step.get_by_role("button", name="I am in the pose").click()
    advice = "You were still moving. Let the arm hang, breathe out, then tap again."
    await feed.send(
        news(Move.NEUTRAL, FitState.REJECTED, [Move.STILL], advice, reason=FitReason.MOVING, measured=9.0, limit=4.0)
    )
    await expect(step).to_contain_text(advice)
    await expect(step.get_by_role("button", name="I am in the pose")).to_be_enabled()


async def test_a_replay_asks_for_no_poses(open_page: OpenPage, feed: Feed) -> None:
    feed.hello = samples.hello(fit=FitView(complete=False, taken=[]))
    page = await open_page()
    await expect(page.get_by_test_id("bend-figure")).to_have_text("0°")
    await expect(page.get_by_test_id("fit-still")).to_have_count(0)


async def test_how_good_the_fit_is_and_how_the_sensors_sit(open_page: OpenPage, feed: Feed) -> None:
    note = "The forearm sensor is on upside down. All figures are true all the same."
    constants = [ConstantView(constant=constant, sd_deg=1.0 + 0.5 * i) for i, constant in enumerate(Constant)]
    fit = FitView(complete=True, taken=ORDER, constants=constants, notes=[note])
    feed.hello = samples.hello(source=LIVE, fit=fit)
    page = await open_page()
    await expect(page.get_by_test_id("fit-note")).to_have_text(note)
    await page.get_by_role("button", name="Fit the sensors again").click()
    await expect(page.get_by_test_id("fit-note")).to_have_text(note)
    quality = page.get_by_test_id("fit-quality")
    await quality.get_by_text("How well the fit knows each thing").click()
    await expect(quality.locator("dd")).to_have_text([f"± {known.sd_deg:.1f}°" for known in constants])
    await expect(quality.locator("dt").first).to_contain_text("long axis")
