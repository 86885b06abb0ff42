"""A browser for the session; a page and a feed for each test."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator, Awaitable, Callable
from dataclasses import dataclass
from typing import Any

import pytest
import uvicorn
from playwright.async_api import Browser, Page, async_playwright, expect

from server.web import config_of
from tests.e2e.browser import FLAGS, PHONE, chromium_path
from tests.e2e.feed import PATIENCE_S, Feed, make_app
from tests.e2e.review_store import fill_store, reviewing
from tests.e2e.sound import TAP
from tests.e2e.static import STATIC
from tests.serving import serving

WHOLE_PAGE = "try { localStorage.setItem('pitchbend.view', 'whole') } catch {}"
READ_CAUTIONS = "try { localStorage.setItem('pitchbend.cautions-read', 'yes') } catch {}"

expect.set_options(timeout=1000 * PATIENCE_S)

OpenPage = Callable[..., Awaitable[Page]]


@dataclass(frozen=True, slots=True)
class Served:
    url: str
    app: Any


@pytest.fixture(scope="session")
async def served() -> AsyncIterator[Served]:
    if not (STATIC / "index.html").exists():
        pytest.fail("The page is not built: run `npm ci && npm run build` in web/, or install the package.")
    app = make_app()
    async with serving(uvicorn.Server(config_of(app))) as port:
        yield Served(url=f"http://127.0.0.1:{port}", app=app)


@pytest.fixture(scope="session")
async def browser(served: Served) -> AsyncIterator[Browser]:
    async with async_playwright() as playwright:
        browser = await playwright.chromium.launch(executable_path=chromium_path(), args=FLAGS)
        yield browser
        await browser.close()


@pytest.fixture(scope="session")
async def review_address(tmp_path_factory: pytest.TempPathFactory) -> AsyncIterator[str]:
    """The real service over a store with the demo in it: one for all tests of the review page."""
    place = await asyncio.to_thread(fill_store, tmp_path_factory.mktemp("review"))
    async with reviewing(place) as url:
        yield url


@pytest.fixture
async def feed(served: Served) -> AsyncIterator[Feed]:
    served.app.state.feed = Feed()
    yield served.app.state.feed
    served.app.state.feed.now = None


@pytest.fixture
async def open_page(browser: Browser, served: Served) -> AsyncIterator[OpenPage]:
    """Opens the page in a browser context of its own; any script error fails the test.

    On a phone, too, it is the whole page, unless `stand` leaves that to the page itself.
    The page's own security policy is in force only when `guarded`: it forbids the worklet that hears and the
    evaluated conditions that Playwright waits with.
    """
    contexts = []
    errors: list[str] = []

    async def open_it(
        *,
        cautions_read: bool = True,
        hears: bool = False,
        guarded: bool = False,
        stand: bool = False,
        path: str = "/",
        **context: Any,
    ) -> Page:
        settings: dict[str, Any] = {"viewport": PHONE, "bypass_csp": not guarded, "locale": "en-GB"} | context
        opened = await browser.new_context(**settings)
        contexts.append(opened)
        page = await opened.new_page()
        page.on("pageerror", lambda error: errors.append(str(error)))
        page.on("console", lambda said: errors.append(said.text) if "Content Security" in said.text else None)
        if hears:
            await page.add_init_script(TAP)
        if not stand:
            await page.add_init_script(WHOLE_PAGE)
        if cautions_read:
            await page.add_init_script(READ_CAUTIONS)
        await page.goto(served.url + path)
        return page

    yield open_it
    for context in contexts:
        await context.close()
    assert not errors, errors
