"""A practice of ten thousand reps on the review page: its list and its strip hold few rows at a time, and lose nobody's place."""

from __future__ import annotations

from itertools import cycle, islice

from playwright.async_api import Browser, Route, expect

from tests.e2e.browser import page_alone
from tests.e2e.review_store import got, the_reps

N = 10_000
TALL = {"width": 1280, "height": 3200}
"""The page is higher than a laptop's screen, and where it stands depends on when which part came: here only the list moves."""
END = "(box) => { box.scrollTop = box.scrollHeight; box.scrollLeft = box.scrollWidth; }"


async def test_a_long_list_has_few_rows_and_the_focus_stays(browser: Browser, review_address: str) -> None:
    key, _ = await the_reps(review_address)
    columns = await got(review_address, f"practices/{key}/rep-columns")
    many = {name: list(islice(cycle(values), N)) for name, values in columns.items() if name != "next"}
    many |= {"number": list(range(1, N + 1)), "next": None}

    async def long(route: Route) -> None:
        await route.fulfill(json=many)

    async with page_alone(browser, viewport=TALL) as page:
        await page.route("**/rep-columns*", long)
        await page.goto(f"{review_address}/#review/{key}/2")
        table = page.get_by_role("table", name="Reps", exact=True)
        await expect(table).to_have_attribute("aria-rowcount", str(N + 1))
        rows = table.get_by_role("row")
        await expect(rows.nth(1)).to_have_attribute("aria-rowindex", "2")
        assert await rows.count() < 40
        # A row that has the keyboard's focus stays while the list is moved, and is gone on from.
        third = table.get_by_role("link", name="Rep 3", exact=True)
        await third.focus()
        box = page.get_by_test_id("review-table")
        await box.evaluate(END)
        last = table.get_by_role("link", name=f"Rep {N}", exact=True)
        await expect(last).to_be_in_viewport()
        await expect(rows.last).to_have_attribute("aria-rowindex", str(N + 1))
        assert await rows.count() < 40
        await expect(third).to_be_focused()
        await page.keyboard.press("Tab")
        await expect(table.get_by_role("checkbox", name="Lay rep 3 over")).to_be_focused()
        await expect(third).to_be_in_viewport()
        # One that has not goes its way.
        await page.get_by_role("combobox", name="Verdict").focus()
        await box.evaluate(END)
        await expect(last).to_be_in_viewport()
        await expect(third).to_have_count(0)
        # Ends are the same whichever way it is sorted, and sorting leads to the head of the list.
        await table.get_by_role("button", name="Rep", exact=True).click()
        await expect(rows.nth(1).get_by_role("link")).to_have_text(str(N))
        await expect(rows.nth(1)).to_have_attribute("aria-rowindex", "2")

        strip = page.get_by_test_id("review-strip")
        await strip.evaluate(END)
        end = strip.get_by_role("listitem").last
        await expect(end).to_have_attribute("aria-posinset", str(N))
        await expect(end).to_have_attribute("aria-setsize", str(N))
        assert await strip.get_by_role("listitem").count() < 60
