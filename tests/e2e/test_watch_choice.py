"""Who only looks on chooses among the practices of a board; who practises is shown no such list."""

from __future__ import annotations

import asyncio
import re

from playwright.async_api import expect

from server.routes.socket import NO_SUCH_BAY
from server.wire_lesson import BayRef
from tests.e2e import coach_samples, samples
from tests.e2e.browser import PHONE_SIDEWAYS, TABLET
from tests.e2e.conftest import OpenPage
from tests.e2e.feed import Feed
from tests.e2e.test_accessibility import violations
from tests.e2e.test_layout import CLIPPED


def bays(n: int) -> list:
    return [coach_samples.bay(i, status="away" if i == 1 else "live") for i in range(n)]


async def test_a_viewer_chooses_a_practice_and_goes_to_its_address(open_page: OpenPage, feed: Feed) -> None:
    first, second, third = bays(3)
    feed.hello = samples.hello(bay=BayRef(id=first.id, name=first.name))
    feed.board.message = feed.board.message.model_copy(update={"bays": [first, second, third]})
    page = await open_page(path="/?as=viewer")
    choice = page.get_by_test_id("watch")
    links = choice.get_by_role("link")
    await expect(links).to_have_count(3)
    await expect(choice).to_contain_text("2 others here.")
    await expect(links.nth(0)).to_have_attribute("aria-current", "page")
    await expect(links.nth(1)).to_contain_text("away")
    assert await violations(page) == []
    for size in (None, PHONE_SIDEWAYS, TABLET):
        if size:
            await page.set_viewport_size(size)
        assert await page.evaluate("document.documentElement.scrollWidth <= innerWidth")
        assert await page.evaluate(CLIPPED) == []
    await links.nth(2).click()
    await page.wait_for_url(re.compile(f"bay={third.id}"))
    await expect(choice.locator("details")).not_to_have_attribute("open", "")
    assert [query for query in feed.asked_with if third.id in query and "viewer" in query]
    feed.turns_away = (NO_SUCH_BAY, "There is no practice of that name here.")
    await page.reload()
    await expect(choice).to_contain_text(
        "Choose a practice to watch."
    )  # the one that was kept is gone; the others are not
    await expect(links.first).to_be_visible()


async def test_one_practice_is_no_choice_and_students_have_none(open_page: OpenPage, feed: Feed) -> None:
    feed.board.message = feed.board.message.model_copy(update={"bays": bays(1)})
    page = await open_page(path="/?as=viewer")
    await page.wait_for_function("window.__pitchbend !== undefined")
    await expect(page.get_by_test_id("watch")).to_have_count(0)
    async with asyncio.timeout(20):
        while not feed.board.n_connections:
            await asyncio.sleep(0.02)
    await feed.board.show(*bays(3))
    await expect(page.get_by_test_id("watch")).to_have_count(1)  # another has begun
    await expect(page.get_by_test_id("pause")).to_have_count(0)
    page = await open_page()
    await expect(page.get_by_test_id("pause")).to_have_count(1)
    await expect(page.get_by_test_id("watch")).to_have_count(0)
