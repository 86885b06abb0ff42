"""The health page: reached from the sensors, every figure in words, what is bad marked, the cue not silenced by it."""

from __future__ import annotations

import pytest
from playwright.async_api import Page, expect

from sensors.events import LinkReason, LinkState
from sensors.ids import Role
from server.wire import CueMessage, SensorsMessage
from tests.e2e import samples
from tests.e2e.browser import SCREENS
from tests.e2e.conftest import OpenPage
from tests.e2e.feed import Feed
from tests.e2e.shots import shoot
from tests.e2e.test_accessibility import violations
from tests.e2e.test_layout import CLIPPED


def troubled() -> list:
    return [
        samples.sensor(Role.FOREARM),
        samples.sensor(Role.CLUB, rate_hz=148.0, battery_pct=9, health=samples.bad_health()),
    ]


async def opened(page: Page) -> Page:
    await page.get_by_test_id("open-health").click()
    await expect(page.get_by_test_id("health")).to_be_visible()
    return page


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("screen", list(SCREENS))
async def test_it_is_whole_on_every_screen(open_page: OpenPage, feed: Feed, screen: str, scheme: str) -> None:
    feed.hello = samples.hello(sensors=troubled())
    page = await opened(await open_page(viewport=SCREENS[screen], color_scheme=scheme))
    await feed.send(SensorsMessage(sensors=troubled(), tape=samples.tape()))
    await expect(page.get_by_test_id("health-tape")).to_contain_text("mara-voss.mcap")
    await shoot(page, f"health-{screen}-{scheme}", published=(screen, scheme) == ("tablet", "light"))
    await shoot(page, f"health-{screen}-{scheme}-full", full_page=True)
    assert await page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    assert await page.evaluate(CLIPPED) == []
    assert await violations(page) == []


async def test_each_figure_says_what_it_is_and_the_bad_ones_are_marked(open_page: OpenPage, feed: Feed) -> None:
    feed.hello = samples.hello(sensors=troubled())
    page = await open_page()
    await expect(page.get_by_test_id("open-health")).to_contain_text("3 to look at")
    await opened(page)
    well, bad = page.get_by_test_id("health-forearm"), page.get_by_test_id("health-club")
    await expect(well.get_by_test_id("figure-loss")).to_contain_text("0.5 %")
    await expect(well.get_by_test_id("figure-loss")).to_contain_text("1 of 200 packets in the last 10 s")
    await expect(well.get_by_test_id("figure-rate")).to_contain_text("199.2 by its own clock, made for 200")
    await expect(well.get_by_test_id("figure-late")).to_contain_text("31 ms")
    await expect(well.get_by_test_id("figure-clock")).to_contain_text("Drifts −17 millionths")
    await expect(well.get_by_test_id("figure-battery")).to_contain_text("−6 % an hour, 14.0 h left")
    await expect(well.get_by_test_id("figure-signal")).to_contain_text("−61 dBm")
    await expect(well.get_by_test_id("figure-drops")).to_contain_text("1:01.4 dropped, back after 1.6 s")
    await expect(well.get_by_role("table")).to_contain_text("340")
    await expect(well.locator(".bad")).to_have_count(0)
    await expect(bad.locator(".bad")).to_have_count(3)
    for trouble, says in (("loss", "Bring the computer or phone nearer"), ("battery", "Charge it")):
        await expect(bad.get_by_test_id(f"figure-{trouble}")).to_contain_text("Look here")
        await expect(bad.get_by_test_id(f"advice-{trouble}")).to_contain_text(says)
    await expect(bad.get_by_test_id("figure-signal")).to_contain_text("not told")
    await expect(bad.get_by_test_id("figure-drops")).to_contain_text("not back yet")


async def test_figures_follow_the_wire(open_page: OpenPage, feed: Feed) -> None:
    page = await opened(await open_page())
    rate = page.get_by_test_id("health-club").get_by_test_id("figure-rate").locator(".value")
    await expect(rate).to_have_text("200")
    lost = samples.sensor(
        Role.CLUB, rate_hz=0.0, state=LinkState.LOST, reason=LinkReason.DROPPED, advice="The sensor went out of reach."
    )
    await feed.send(SensorsMessage(sensors=[samples.sensor(Role.FOREARM), lost]))
    await expect(rate).to_have_text("0")
    await expect(page.get_by_test_id("health-club")).to_contain_text("link lost")
    await expect(page.get_by_test_id("health-club")).to_contain_text("went out of reach")


async def test_nothing_yet_and_nobody_there(open_page: OpenPage, feed: Feed) -> None:
    feed.hello = samples.hello(sensors=[])
    page = await opened(await open_page())
    await expect(page.get_by_test_id("health-empty")).to_contain_text("No sensor has reported yet")
    assert await violations(page) == []
    feed.refuses = True
    await feed.drop()
    await expect(page.get_by_test_id("health-empty")).to_contain_text("does not answer")
    await shoot(page, "health-phone-away")
    feed.refuses = False
    feed.hello = samples.hello(sensors=[samples.sensor(Role.FOREARM, health=None)])
    await expect(page.get_by_test_id("health-forearm")).to_contain_text("of an older version")


async def test_a_recording_in_trouble(open_page: OpenPage, feed: Feed) -> None:
    page = await opened(await open_page())
    await expect(page.get_by_test_id("health-tape")).to_have_count(0)
    stopped = samples.tape(path=None, size_mb=0.0, held_s=75.0, n_missed=12, minutes_left=None)
    await feed.send(SensorsMessage(sensors=[samples.sensor(Role.FOREARM)], tape=stopped))
    tape = page.get_by_test_id("health-tape")
    await expect(tape).to_contain_text("Recording stopped")
    await expect(tape).to_contain_text("75 s of practice wait in memory")
    await expect(tape).to_contain_text("12 entries could not be kept")


async def test_there_and_back_by_button_and_by_the_phones_own_way(open_page: OpenPage, feed: Feed) -> None:
    page = await opened(await open_page())
    await expect(page.get_by_role("heading", level=1, name="How the sensors send")).to_be_focused()
    await page.go_back()
    await expect(page.get_by_test_id("bend-figure")).to_have_text("0°")
    await opened(page)
    await page.get_by_role("button", name="Back to the swing").click()
    await expect(page.get_by_test_id("bend-figure")).to_have_text("0°")
    again = await open_page(path="/#sensors")
    await expect(again.get_by_test_id("health")).to_be_visible()


async def test_the_cue_sounds_on_while_it_is_open(open_page: OpenPage, feed: Feed) -> None:
    page = await open_page()
    await page.get_by_test_id("sound").click()
    await opened(page)
    await feed.show(**samples.CUPPED)
    await feed.send(CueMessage(t_s=1.0, sounding=True, error_deg=-9.0))
    await expect(page.get_by_test_id("sound")).to_have_text("Sounding")


async def test_everything_in_it_is_large_enough_for_a_glove(open_page: OpenPage, feed: Feed) -> None:
    page = await opened(await open_page())
    small = await page.locator("button, input, summary").evaluate_all(
        "(all) => all.filter((e) => e.getBoundingClientRect().height < 44).map((e) => e.outerHTML.slice(0, 80))"
    )
    assert small == []
