"""The page on which others are let in, on the real service: 127.0.0.1 is its own computer, 127.0.0.2 a guest's way to it."""

from __future__ import annotations

import base64
import re
from collections.abc import AsyncIterator, Callable
from typing import Any

import numpy as np
import pytest
import zxingcpp
from playwright.async_api import Browser, Page, expect

from server.engine import Engine
from server.joining.addresses import LanAddress
from server.joining.book import GuestBook
from server.joining.guest import GuestRole
from server.joining.opened import Joining
from server.web import ANYWHERE
from tests.e2e.browser import PHONE, TABLET
from tests.e2e.conftest import READ_CAUTIONS, WHOLE_PAGE
from tests.e2e.shots import shoot
from tests.e2e.test_accessibility import violations
from tests.e2e.test_layout import CLIPPED
from tests.live_service import LIVE, HandSource, Running, ToldPipeline, never, running

HOME = (LanAddress(address="127.0.0.2", adapter="Wi-Fi"), LanAddress(address="127.0.0.3", adapter="Cable"))
SCREENS = {"phone": PHONE, "tablet": TABLET}


def engine() -> Engine:
    source = HandSource()
    return Engine(lambda: source, view=LIVE, make_pipeline=lambda: ToldPipeline({}), sleep=never)


@pytest.fixture
async def lan() -> AsyncIterator[tuple[Running, Joining]]:
    joining = Joining(book=GuestBook(), port=0, find_addresses=lambda: HOME)
    async with running(engine(), at=ANYWHERE, lan=joining) as service:
        object.__setattr__(joining, "port", service.port)  # known only when the service has it
        yield service, joining


@pytest.fixture
async def visit(browser: Browser) -> AsyncIterator[Callable[..., Any]]:
    contexts = []

    async def go(url: str, **options: Any) -> Page:
        context = await browser.new_context(**({"viewport": PHONE, "bypass_csp": True} | options))
        contexts.append(context)
        page = await context.new_page()
        for script in (WHOLE_PAGE, READ_CAUTIONS):
            await page.add_init_script(script)
        await page.goto(url)
        return page

    yield go
    for context in contexts:
        await context.close()


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("screen", list(SCREENS))
async def test_it_is_whole_and_its_pictures_lead_to_the_links(lan, visit, screen: str, scheme: str) -> None:
    """The pictures are read by ZXing, a reader of its own."""
    service, joining = lan
    joining.book.join(joining.book.links[0], name="iPhone, Safari", address="192.0.2.31")
    page = await visit(f"{service.url}/#join", viewport=SCREENS[screen], color_scheme=scheme)
    await expect(page.get_by_test_id("guests")).to_contain_text(
        "student, 192.0.2.31, joined just now, no page open now"
    )
    await shoot(page, f"join-{screen}-{scheme}", full_page=True)
    assert await page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    assert await page.evaluate(CLIPPED) == []
    assert await violations(page) == []
    small = "(all) => all.filter((e) => e.getBoundingClientRect().height < 44).map((e) => e.outerHTML.slice(0, 80))"
    assert await page.locator("button, select").evaluate_all(small) == []
    assert await read(page) == {joining.url(link, "127.0.0.2") for link in joining.book.links}
    await page.get_by_label("Address of this computer").select_option("127.0.0.3")
    await expect(page.get_by_test_id("link-coach").get_by_test_id("url")).to_contain_text("127.0.0.3")


# The browser unpacks its own picture: no image library is needed for that alone.
PIXELS = """async (png) => {
  const image = await createImageBitmap(await (await fetch('data:image/png;base64,' + png)).blob());
  const context = new OffscreenCanvas(image.width, image.height).getContext('2d');
  context.drawImage(image, 0, 0);
  const rgba = context.getImageData(0, 0, image.width, image.height).data;
  return [image.width, Array.from({ length: rgba.length / 4 }, (_, i) => rgba[4 * i])];
}"""


async def read(page: Page) -> set[str]:
    """Scan every picture on the page as it is shown."""
    found = set()
    for picture in await page.get_by_role("img", name=re.compile("^Picture to scan")).all():
        width, red = await page.evaluate(PIXELS, base64.b64encode(await picture.screenshot()).decode())
        found |= {code.text for code in zxingcpp.read_barcodes(np.array(red, np.uint8).reshape(-1, width))}
    return found


async def test_a_guest_comes_in_is_seen_and_is_sent_away(lan, visit) -> None:
    service, joining = lan
    host = await visit(service.url)
    await host.get_by_test_id("open-join").click()
    await expect(host.get_by_role("heading", level=1, name="Let others join")).to_be_focused()
    await expect(host.get_by_test_id("guests")).to_contain_text("Nobody yet")
    url = await host.get_by_test_id("link-viewer").get_by_test_id("url").inner_text()
    guest = await visit(url)
    await expect(guest.get_by_test_id("status")).to_have_text("Waiting")
    await expect(guest.get_by_test_id("open-join")).to_have_count(0)
    await expect(host.get_by_test_id("guests")).to_contain_text("watches, 127.0.0.1, joined just now, page open now")
    away = host.get_by_role("button", name=re.compile("^Send away"))
    await away.click()
    await expect(host.get_by_role("button", name="No")).to_be_focused()
    await host.keyboard.press("Enter")
    await expect(away).to_be_focused()
    await away.click()
    await shoot(host, "join-sure", full_page=True)
    assert await violations(host) == []
    await host.get_by_role("button", name="Yes, send away").click()
    await expect(host.get_by_test_id("guests")).to_contain_text("Nobody yet")
    await expect(guest.get_by_test_id("status")).to_have_text("You are out")
    await expect(host.get_by_test_id("link-viewer").get_by_test_id("url")).not_to_have_text(url)
    assert not joining.book.visits()


async def test_a_coach_may_make_links_anew_and_others_may_not_see_them(lan, visit) -> None:
    service, joining = lan
    links = {link.role: joining.url(link, "127.0.0.2") for link in joining.book.links}
    student = await visit(links[GuestRole.STUDENT])
    await expect(student.get_by_test_id("status")).to_have_text("Waiting")
    await student.goto(f"http://127.0.0.2:{service.port}/#join")
    await expect(student.get_by_test_id("join-notice")).to_contain_text("Only the computer itself and coaches")
    coach = await visit(links[GuestRole.COACH])
    await coach.wait_for_url("**/#coach")
    # The way that a coach has with a tablet, and back to where it began.
    await coach.get_by_test_id("open-join").click()
    await coach.get_by_role("button", name="Back", exact=True).click()
    await coach.wait_for_url("**/#coach")
    await coach.get_by_test_id("open-join").click()
    card = coach.get_by_test_id("link-student")
    await card.get_by_role("button", name="Make a new link").click()
    await card.get_by_role("button", name="Yes, a new link").click()
    await expect(card.get_by_test_id("url")).not_to_have_text(links[GuestRole.STUDENT])
    await expect(student.get_by_test_id("status")).to_have_text("You are out")
    # The student's view of a practice does not make a student of a coach: the link decides.
    await coach.goto(f"http://127.0.0.2:{service.port}/")
    await expect(coach.get_by_test_id("control")).to_have_text("The student is steering.")
    await expect(coach.get_by_test_id("control-act")).to_have_text("Take over")


async def test_closed_no_network_and_nobody_there(visit) -> None:
    async with running(engine()) as service:
        page = await visit(f"{service.url}/#join")
        await expect(page.get_by_test_id("join-notice")).to_contain_text("start it with --lan")
        assert await violations(page) == []
        await page.get_by_role("button", name="Back").click()
        await expect(page.get_by_test_id("status")).to_be_visible()
        await expect(page.get_by_test_id("join")).to_have_count(0)
        await expect(page.get_by_test_id("open-join")).to_have_count(0)
        await page.goto(f"{service.url}/#join")
    await expect(page.get_by_test_id("join-notice")).to_contain_text("does not answer")
    async with running(engine(), lan=Joining(book=GuestBook(), port=0, find_addresses=lambda: ())) as service:
        page = await visit(f"{service.url}/#join")
        await expect(page.get_by_test_id("join-notice")).to_contain_text("in no network")
