"""The page of progress over the real service: days of an invented player, written into a store.

Outside truth: counts written here by hand. Intervals and slopes are compared with SciPy in `tests/unit/test_progress.py`.
"""

from __future__ import annotations

from collections.abc import AsyncIterator
from datetime import datetime, timedelta, timezone
from pathlib import Path

import pytest
from playwright.async_api import Browser, expect

from server.drills import our_drills
from server.store.records import RepKind
from tests.e2e.browser import PHONE, TABLET, page_alone
from tests.e2e.review_store import reviewing
from tests.e2e.shots import shoot
from tests.e2e.test_accessibility import violations
from tests.e2e.test_layout import CLIPPED
from tests.kept_practices import keep

NAME = "Idun Aas"
BEGAN = datetime(2026, 11, 2, 17, tzinfo=timezone(timedelta(hours=1)))
DAYS = ((0, 4), (1, 5), (3, 6), (7, 6), (8, 8), (12, 8))
"""Days since the first, and reps in the band without the cue."""

# Dark pixels of the picture: with nothing drawn in it there are only axes.
INK = """
() => {
  const canvas = document.querySelector('[data-testid=days-plot] canvas');
  const { data } = canvas.getContext('2d').getImageData(0, 0, canvas.width, canvas.height);
  let n = 0;
  for (let i = 0; i < data.length; i += 4) n += data[i + 3] > 200;
  return n;
}
"""


@pytest.fixture(scope="module")
async def address(tmp_path_factory: pytest.TempPathFactory) -> AsyncIterator[str]:
    place = tmp_path_factory.mktemp("progress") / "store.sqlite"
    text = our_drills()[0].text
    for day, n_in in DAYS:
        course = ((10, min(n_in + 2, 10), RepKind.CUED), (8, n_in, RepKind.SILENT), (10, n_in, RepKind.TEST))
        retest = ((10, n_in - 1, RepKind.TEST),) if day == 8 else ()
        keep(place, NAME, BEGAN + timedelta(days=day), text, *retest, *course)
    keep(place, "Bo Lind", BEGAN, our_drills()[6].text, (4, 3, RepKind.CUED))
    async with reviewing(str(place)) as url:
        yield url


@pytest.mark.parametrize(("screen", "scheme"), [("phone", "dark"), ("tablet", "light")])
async def test_days_trends_and_what_was_left(browser: Browser, address: str, screen: str, scheme: str) -> None:
    size = {"phone": PHONE, "tablet": TABLET}[screen]
    async with page_alone(browser, viewport=size, color_scheme=scheme) as page:
        await page.goto(f"{address}/#progress")
        await page.get_by_test_id("players").get_by_role("link", name=NAME).click()
        table = page.get_by_test_id("days")
        await expect(table.get_by_role("row")).to_have_count(1 + 3 * len(DAYS) + 1)
        await expect(table.get_by_role("row", name="10 Nov next-day test")).to_contain_text("7 of 10")
        await expect(page.get_by_test_id("kept")).to_contain_text(
            "10 Nov, the next day, without the cue: 7 of 10 in the band. "
            "Last blocks on 9 Nov: 8 of 10 in the band with the cue, 6 of 10 in the band without."
        )
        trends = page.get_by_test_id("trends")
        await expect(trends).to_contain_text("a week")
        await expect(trends).to_contain_text("not enough reps: at least 24 more, on 4 more days")
        await expect(page.locator("[data-testid=days-plot][data-drawn=true] canvas")).to_have_count(1)
        n_share = await page.evaluate(INK)
        for shown in ("In the band", "Median"):
            await page.get_by_role("button", name=shown).click()
            await page.evaluate("() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))")
            name = f"progress-{screen}-{'median' if shown == 'Median' else 'share'}"
            await shoot(page, name, full_page=screen == "phone", published=name == "progress-tablet-share")
        assert n_share > 2000
        assert await page.evaluate(INK) != n_share
        assert await page.evaluate("document.documentElement.scrollWidth <= innerWidth")
        # The table scrolls in its own box.
        assert [one for one in await page.evaluate(CLIPPED) if "<t" not in one] == []
        assert await violations(page) == []


async def test_a_few_reps_an_unknown_player_and_an_empty_store(browser: Browser, address: str, tmp_path: Path) -> None:
    async with page_alone(browser) as page:
        await page.goto(f"{address}/#progress/Bo%20Lind")
        await expect(page.get_by_test_id("days")).to_contain_text("not enough reps")
        await expect(page.get_by_test_id("trends")).to_contain_text("not enough reps: at least 30 more, on 5 more days")
        await expect(page.get_by_test_id("kept")).to_contain_text("No next-day test yet.")
        await page.evaluate("location.hash = '#progress/Nobody'")
        await expect(page.get_by_role("alert")).to_have_text("There is no player of this name in the store.")
    async with reviewing(str(tmp_path / "empty.sqlite")) as url, page_alone(browser) as page:
        await page.goto(f"{url}/#progress")
        await expect(page.get_by_test_id("players")).to_contain_text("Nobody is in the store yet.")
        assert await violations(page) == []
