"""The bar with which a recording is wound, on the real page and the real service."""

from __future__ import annotations

import re
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager

import pytest
from playwright.async_api import Browser, Page, expect

from sensors.events import NoteWritten, RepMark, RepMarked
from server.engine import Engine
from server.replay.deck import Deck
from tests.e2e.browser import page_alone
from tests.e2e.conftest import READ_CAUTIONS, WHOLE_PAGE
from tests.e2e.shots import shoot
from tests.e2e.test_accessibility import violations
from tests.live_service import running
from tests.replaying import REPLAY, recorded, surveyed_before
from tests.virtual import virtual_run

PRESS = """
([key, wanted]) => {
  if (document.querySelector(wanted)) return true;
  window.dispatchEvent(new KeyboardEvent('keydown', { key }));
  return false;
}
"""
"""Again while nothing has come of it: on a machine that is busy enough the page may be between two connections."""
FRAME = "() => window.__pitchbend.frame()"


@pytest.fixture(scope="module")
def deck(tmp_path_factory: pytest.TempPathFactory) -> Callable[[], Deck]:
    run = virtual_run(6, 2)
    at_ns = run.reps[0].arrival_ns
    i = 1 + next(i for i, event in enumerate(run.events) if event.arrival_ns == at_ns)
    own = [
        RepMarked(arrival_ns=at_ns, rep=1, mark=RepMark.LOOK, by="Ines"),
        NoteWritten(arrival_ns=at_ns, text="Flat at the top.", rep=1, by="Ines"),
    ]
    path = recorded(tmp_path_factory.mktemp("replay") / "a.mcap", [*run.events[:i], *own, *run.events[i:]])
    survey = surveyed_before(path)
    return lambda: Deck(path, survey=survey, playing=False)


@asynccontextmanager
async def watched(browser: Browser, deck: Deck, query: str = "") -> AsyncIterator[tuple[Page, Engine]]:
    """The page on a recording that has been read through and stands still."""
    engine = Engine(deck=deck, view=REPLAY)
    async with running(engine) as service, page_alone(browser) as page:
        await page.add_init_script(READ_CAUTIONS)
        await page.add_init_script(WHOLE_PAGE)
        await page.goto(service.url + query)
        await expect(page.get_by_test_id("here")).to_have_text("2 reps")
        yield page, engine
    assert not service.bugs


async def test_a_recording_is_wound_by_hand_and_by_keys(browser: Browser, deck: Callable[[], Deck]) -> None:
    first, second = virtual_run(6, 2).reps
    async with watched(browser, deck()) as (page, engine):
        here, at = page.get_by_test_id("here"), page.get_by_test_id("at")
        await page.get_by_test_id("next-rep").click()
        await expect(here).to_contain_text("Rep 1 of 2")
        await page.wait_for_function(f"({FRAME})()?.t_s > {first.takeaway_s - 1.3}")
        assert await page.evaluate("window.__pitchbend.lastRep()") is None
        await shoot(page, "replay-phone", published=True)

        # A step by key is a twentieth of a second, back again is the very same frame.
        before = await page.evaluate(FRAME)
        await page.keyboard.press("ArrowRight")
        await page.wait_for_function("t => window.__pitchbend.frame()?.t_s > t", arg=before["t_s"])
        await page.keyboard.press("ArrowLeft")
        await page.wait_for_function("t => window.__pitchbend.frame()?.t_s === t", arg=before["t_s"])
        after = await page.evaluate(FRAME)
        assert {**after, "seq": 0} == {**before, "seq": 0}
        await page.keyboard.press(".")
        await page.wait_for_function("t => window.__pitchbend.frame()?.t_s !== t", arg=before["t_s"])

        # Standing still it is neither stale nor heard.
        await expect(page.get_by_test_id("silent")).to_have_text("Stopped: silent")
        assert await page.evaluate("window.__pitchbend.status()") == "live"

        # The track takes it to the end of the first rep, whose remarks are then read out.
        await page.get_by_test_id("track").evaluate(
            "(track, to) => { track.value = to; track.dispatchEvent(new Event('input', { bubbles: true })); "
            "track.dispatchEvent(new Event('change', { bubbles: true })) }",
            (first.arrival_ns - virtual_run(6, 2).events[0].arrival_ns) * 1e-9 + 0.2,
        )
        await expect(here).to_contain_text("“Flat at the top.” (Ines)")
        await expect(here).to_contain_text("marked to look at again (Ines)")
        await page.wait_for_function("window.__pitchbend.lastRep() === 1")

        # One rep over and over, at the speed that is chosen, until the key that goes on.
        await page.get_by_test_id("speed").select_option("2")
        await page.get_by_test_id("loop").click()
        await expect(page.get_by_test_id("silent")).to_contain_text("Silent: sounds at 1")
        await page.wait_for_function("t => window.__pitchbend.frame()?.t_s > t", arg=first.takeaway_s)
        await page.wait_for_function("t => window.__pitchbend.frame()?.t_s < t", arg=first.takeaway_s)
        assert engine.hub.present.replay is not None
        assert engine.hub.present.replay.loop == 1
        await page.wait_for_function(PRESS, arg=["]", "[data-testid=loop][aria-pressed=false]"], polling=1000)
        await page.wait_for_function(PRESS, arg=[" ", "[data-testid=play][aria-label=Play]"], polling=1000)
        await page.get_by_test_id("next-rep").click()
        await expect(here).to_contain_text("Rep 2 of 2")
        await expect(at).to_have_text(re.compile(f"^{int(second.takeaway_s - 1) // 60}:"))


async def test_the_bar_fits_and_speaks(browser: Browser, deck: Callable[[], Deck]) -> None:
    async with watched(browser, deck()) as (page, _):
        await page.get_by_test_id("next-rep").click()
        await expect(page.get_by_test_id("here")).to_contain_text("Rep 1 of 2")
        for width, height in ((390, 844), (844, 390), (1024, 768)):
            await page.set_viewport_size({"width": width, "height": height})
            bar = page.get_by_test_id("replay")
            await bar.scroll_into_view_if_needed()
            await shoot(page, f"replay-{width}")
            box = await bar.bounding_box()
            assert box is not None
            assert box["x"] >= 0
            assert box["x"] + box["width"] <= width
            for key in await bar.get_by_role("button").all():
                one = await key.bounding_box()
                assert one is not None
                assert min(one["width"], one["height"]) >= 42
                assert one["x"] + one["width"] <= width
        assert await violations(page) == []


async def test_who_only_watches_is_told_so_before_pressing(browser: Browser, deck: Callable[[], Deck]) -> None:
    async with watched(browser, deck(), "/?as=viewer") as (page, engine):
        bar = page.get_by_test_id("replay")
        await expect(page.get_by_test_id("watch-only")).to_contain_text("the student or the coach winds the recording")
        for key in [*await bar.get_by_role("button").all(), page.get_by_test_id("track"), page.get_by_test_id("speed")]:
            await expect(key).to_be_disabled()
        await page.keyboard.press(" ")
        # Nobody who looks at a recording can stand to the ball.
        await expect(page.get_by_test_id("verdict")).to_have_text(
            "No rep yet: the recording has not come to the end of one."
        )
        await expect(page.locator("main")).not_to_contain_text("Stand to the ball")
        await shoot(page, "replay-viewer")
        assert await violations(page) == []
        assert await page.evaluate("document.documentElement.scrollWidth <= innerWidth")
        assert engine.hub.present.replay is not None
        assert not engine.hub.present.replay.playing
        await expect(page.get_by_role("log", name="Notices")).to_be_empty()
