"""When a move that was said begins: as soon as the sensors show that it is taken up, and no sooner."""

from __future__ import annotations

from typing import Any

from playwright.async_api import expect

from sensors.ids import Move
from server.wire import StandingView
from tests.e2e import samples
from tests.e2e.conftest import OpenPage
from tests.e2e.feed import Feed
from tests.e2e.test_setup import KNOWN, set_up_page, unfitted


def still(still_s: float, **more: Any) -> StandingView:
    return StandingView(
        **{"forearm_still_s": still_s, "club_still_s": still_s, "lies": False, "arm_deg": None, "shaft_deg": None}
        | more
    )


async def test_a_pose_does_not_begin_before_it_is_found_however_long_that_takes(
    open_page: OpenPage, feed: Feed
) -> None:
    feed.hello = unfitted()
    feed.now = samples.frame(standing=still(0.0))
    page = await set_up_page(open_page, KNOWN)
    await feed.asked()
    await feed.asked()
    await page.get_by_test_id("begin").click()
    await expect(page.get_by_test_id("guide")).to_contain_text("When you are still")
    assert feed.heard.empty()
    await feed.show(standing=still(0.7))
    assert (await feed.asked()).move == Move.NEUTRAL


async def test_a_move_begins_when_the_sensors_show_that_it_is_taken_up(open_page: OpenPage) -> None:
    """Two seconds after it was said: before it is taken for granted, after the words were heard."""
    page = await open_page()
    told = {"move": "address", "after": "roll", "sinceMs": 2000, "soonestMs": 1500, "latestMs": 3000, "moved": True}
    ball = {"arm_deg": 60.0, "shaft_deg": 57.0}
    level, table = {"arm_deg": 10.0}, {"lies": True}
    cases: list[tuple[bool, dict[str, Any], StandingView | None]] = [
        (True, {}, still(0.4, **ball)),
        (False, {"sinceMs": 1400}, still(0.4, **ball)),
        (False, {"moved": False}, still(0.4, **ball)),
        (False, {}, still(0.2, **ball)),
        (False, {}, still(0.4, **ball | {"shaft_deg": 12.0})),  # the club is held up
        (False, {}, still(0.4)),
        (True, {"sinceMs": 3000}, still(0.4)),
        (False, {"sinceMs": 3000, "moved": False}, still(0.4)),  # not begun to take it up
        (True, {"sinceMs": 8000, "moved": False}, still(0.4)),  # or in it all along
        (False, {"sinceMs": 9000}, still(0.7, arm_deg=60.0, shaft_deg=5.0)),  # the club is not down yet
        (False, {"sinceMs": 9000, "move": "palm"}, still(0.7, arm_deg=80.0)),
        (False, {"sinceMs": 9000}, still(0.2, **ball)),
        (True, {"sinceMs": 19_000}, still(0.0)),  # somebody who trembles is told so
        (False, {}, None),
        (True, {"sinceMs": 3000}, None),
        (True, {"move": "palm"}, still(0.4, club_still_s=0.0, **level)),  # the club lies anyhow
        (False, {"move": "palm"}, still(0.4, arm_deg=80.0)),
        (False, {"move": "palm", "after": None}, still(0.4)),
        (True, {"move": "neutral", "after": "twirl"}, still(0.4)),
        (False, {"move": "neutral", "after": None}, still(0.4)),
        (True, {"move": "twirl", "after": "palm"}, still(0.6)),
        (False, {"move": "twirl", "after": "palm", "sinceMs": 5000}, still(0.1)),  # it is still being picked up
        (False, {"move": "roll", "after": "neutral"}, still(0.6)),
        (True, {"move": "roll", "after": "neutral", "sinceMs": 3000}, still(0.0)),
        (True, {"move": "still", "after": None, "moved": False}, still(0.7, **table)),
        (False, {"move": "still", "after": None}, still(0.7)),
        (True, {"move": "attitude", "after": "attitude"}, still(0.6)),
        (False, {"move": "attitude", "after": "attitude", "moved": False}, still(0.7, **table)),
    ]
    asks = [[told | changes, standing and standing.model_dump()] for _, changes, standing in cases]
    found = await page.evaluate("(asks) => asks.map(([told, s]) => window.__pitchbend.takenUp(told, s))", asks)
    assert found == [expected for expected, _, _ in cases]
