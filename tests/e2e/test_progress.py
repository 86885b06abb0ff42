"""The page of progress over the real service: days of an invented player, written into a store.

Outside truth: counts written here by hand. Intervals and slopes are compared with SciPy in `tests/unit/test_progress.py`.
"""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from datetime import datetime, timedelta, timezone
from pathlib import Path

import pytest
import uvicorn
from playwright.async_api import Browser, Page, expect

from server.api.archive import Archive
from server.api.wish import StoreWish
from server.app import make_app
from server.bays.bay import Bays
from server.drills import our_drills
from server.store.records import RepKind
from server.web import config_of
from tests.e2e.browser import PHONE, TABLET
from tests.e2e.shots import shoot
from tests.e2e.test_accessibility import violations
from tests.e2e.test_layout import CLIPPED
from tests.kept_practices import keep
from tests.serving import serving

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


@asynccontextmanager
async def serving_store(place: Path) -> AsyncIterator[str]:
    archive = Archive(StoreWish(place=str(place)))
    app = make_app(Bays([]), on_bug=lambda _: None, archive=archive)
    async with serving(uvicorn.Server(config_of(app))) as port:
        yield f"http://127.0.0.1:{port}/"
    archive.close()


@pytest.fixture(scope="module")
async def address(tmp_path_factory: pytest.TempPathFactory) -> AsyncIterator[str]:
    place = tmp_path_factory.mktemp("progress") / "store.sqlite"
    text = our_drills()[0].text
    for day, n_in in DAYS:
        course = ((10, min(n_in + 2, 10), RepKind.CUED), (8, n_in, RepKind.SILENT), (10, n_in, RepKind.TEST))
        retest = ((10, n_in - 1, RepKind.TEST),) if day == 8 else ()
        keep(place, NAME, BEGAN + timedelta(days=day), text, *retest, *course)
    keep(place, "Bo Lind", BEGAN, our_drills()[6].text, (4, 3, RepKind.CUED))
    async with serving_store(place) as url:
        yield url


async def opened(browser: Browser, url: str, **options: object) -> tuple[Page, list[str]]:
    context = await browser.new_context(bypass_csp=True, **options)  # type: ignore[arg-type]
    page = await context.new_page()
    errors: list[str] = []
    page.on("pageerror", lambda error: errors.append(str(error)))
    await page.goto(url)
    return page, errors


@pytest.mark.parametrize(("screen", "scheme"), [("phone", "dark"), ("tablet", "light")])
async def test_days_trends_and_what_was_left(browser: Browser, address: str, screen: str, scheme: str) -> None:
    size = {"phone": PHONE, "tablet": TABLET}[screen]
    page, errors = await opened(browser, f"{address}#progress", viewport=size, color_scheme=scheme)
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
    assert [one for one in await page.evaluate(CLIPPED) if "<t" not in one] == []  # the table scrolls in its own box
    assert await violations(page) == []
    assert errors == []
    await page.context.close()


async def test_a_few_reps_an_unknown_player_and_an_empty_store(browser: Browser, address: str, tmp_path: Path) -> None:
    page, errors = await opened(browser, f"{address}#progress/Bo%20Lind", viewport=PHONE)
    await expect(page.get_by_test_id("days")).to_contain_text("not enough reps")
    await expect(page.get_by_test_id("trends")).to_contain_text("not enough reps: at least 30 more, on 5 more days")
    await expect(page.get_by_test_id("kept")).to_contain_text("No next-day test yet.")
    await page.evaluate("location.hash = '#progress/Nobody'")
    await expect(page.get_by_role("alert")).to_have_text("There is no player of this name in the store.")
    assert errors == []
    await page.context.close()
    async with serving_store(tmp_path / "empty.sqlite") as url:
        page, errors = await opened(browser, f"{url}#progress", viewport=PHONE)
        await expect(page.get_by_test_id("players")).to_contain_text("Nobody is in the store yet.")
        assert await violations(page) == []
        await page.context.close()
