"""The real service over a store with the demo in it, and ways about the review page, for its tests."""

from __future__ import annotations

import asyncio
import json
import shutil
import urllib.request
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path
from typing import Any

import uvicorn
from playwright.async_api import Browser, Page, expect

from server.api.archive import Archive
from server.api.wish import StoreWish
from server.app import make_app
from server.bays.bay import Bays
from server.cli.demo_recording import demo_recording
from server.store.database import Database
from server.store.fill import fill
from server.store.shelf import Shelf
from server.web import config_of
from tests.e2e.browser import page_alone
from tests.serving import serving

LAPTOP = {"width": 1280, "height": 800}


def fill_store(folder: Path, *recordings: Path) -> str:
    """Put the demo, and what else is named, into a new store; gives its place."""
    shutil.copy(demo_recording(), folder / "demo.mcap")
    database = Database(folder / "store.sqlite")
    list(fill(database, [folder / "demo.mcap", *recordings], shelf=Shelf.of(database)))
    database.close()
    return str(folder / "store.sqlite")


@asynccontextmanager
async def reviewing(place: str, *, keep_in: Path | None = None) -> AsyncIterator[str]:
    """Serve the pages and the API over a store; gives the address."""
    archive = Archive(StoreWish(place=place, keep_in=keep_in))
    app = make_app(Bays([]), on_bug=lambda _: None, archive=archive)
    async with serving(uvicorn.Server(config_of(app))) as port:
        yield f"http://127.0.0.1:{port}"
    archive.close()


@asynccontextmanager
async def at_the_last_rep(browser: Browser, address: str) -> AsyncIterator[Page]:
    """Open a page by the way a person goes: the list, the practice in it."""
    async with page_alone(browser, viewport=LAPTOP, color_scheme="light") as page:
        await page.goto(f"{address}/#review")
        link = page.get_by_test_id("practices").get_by_role("link")
        await expect(link).to_have_count(1)
        await expect(page.get_by_test_id("practices")).to_contain_text("Maren Tolk")
        await expect(page.get_by_test_id("practices")).to_contain_text("12 reps, 6 of 12 judged in the band")
        await link.click()
        await expect(page.get_by_test_id("traces")).to_be_visible()
        yield page


async def got(address: str, path: str) -> Any:
    def fetch() -> Any:
        with urllib.request.urlopen(f"{address}/api/{path}") as answer:
            return json.load(answer)

    return await asyncio.to_thread(fetch)


async def the_reps(address: str) -> tuple[str, list[dict[str, Any]]]:
    key = (await got(address, "practices"))["items"][0]["key"]
    return key, (await got(address, f"practices/{key}/reps"))["items"]


async def open_rep(page: Page, number: int) -> None:
    await page.get_by_test_id("review-strip").locator(f"a[href$='/{number}']").click()
    await expect(page.get_by_test_id("rep").get_by_role("heading", name=f"Rep {number}")).to_be_visible()
    await page.wait_for_function(
        "(n) => window.__pitchbendReview.open?.line()?.trace.number === n && document.querySelector('[data-testid=canvas]')",
        arg=number,
    )


async def go(page: Page, knot: int) -> float:
    """Go to a mark; gives its time."""
    return await page.evaluate(
        "(i) => { const { open } = window.__pitchbendReview; open.go(open.line().knots[i]); return open.line().knots[i]; }",
        knot,
    )
