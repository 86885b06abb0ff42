"""Lengths in centimetres or inches, by the browser's locale until somebody chooses; angles are degrees in either."""

from __future__ import annotations

from fractions import Fraction

import pytest
from playwright.async_api import Page, expect

from sensors.ids import Side
from server.wire import PlayerView, RepMessage, SourceView
from server.wire_client import LengthsMessage
from tests.e2e import coach_samples, samples
from tests.e2e.browser import PHONE
from tests.e2e.coach_page import open_coach
from tests.e2e.conftest import OpenPage
from tests.e2e.feed import Feed
from tests.e2e.shots import shoot
from tests.e2e.test_accessibility import violations
from tests.e2e.test_layout import CLIPPED

INCH_M = Fraction(254, 10_000)
"""Exact: the international yard and pound agreement of 1959 (yard 0.9144 m); NIST SP 811, appendix B."""
LIVE = SourceView(kind="live", name="built-in radio", speed=1.0)
MARA = PlayerView(name="Mara Voss", lead_side=Side.LEFT, club="7 iron")


def in_inches(m: float) -> Fraction:
    return Fraction(str(m)) / INCH_M


def with_butt(index: int, m: float | None, sd_m: float | None = 0.1) -> RepMessage:
    mark = samples.mark(-17.0, 66.0).model_copy(update={"butt_line_m": m, "butt_line_sd_m": sd_m})
    return samples.rep(index, arm_level=mark)


@pytest.mark.parametrize(
    ("locale", "shown"),
    [("en-GB", "31 cm"), ("en-US", "12 in"), ("my-MM", "12 in"), ("en-LR", "12 in"), ("de-DE", "31 cm")],
)
async def test_the_locale_decides_until_somebody_chooses(
    open_page: OpenPage, feed: Feed, locale: str, shown: str
) -> None:
    assert round(in_inches(0.31)) == 12
    feed.hello = samples.hello(reps=[with_butt(3, 0.31)])
    page = await open_page(locale=locale)
    await expect(page.get_by_test_id("butt-line")).to_contain_text(f"{shown} inside the ball line")
    await expect(page.get_by_role("table").first).to_contain_text("66°")


async def test_the_coach_reads_the_butt_line_and_may_change_the_units(open_page: OpenPage, feed: Feed) -> None:
    bays = [coach_samples.bay(0)]
    page = await open_coach(open_page, feed, *bays)
    mara = feed.bays["mara-voss"]
    await expect(page.get_by_test_id("coach-figure")).to_have_text("0°")
    values = {1: 0.31, 2: -0.07, 3: 1.24, 4: 0.001, 5: None}
    for index, m in values.items():
        await mara.send(with_butt(index, m, 0.092))
    metric = {1: "31 cm inside", 2: "7 cm outside", 3: "124 cm inside", 4: "on the ball line", 5: "–"}
    for index, words in metric.items():
        await expect(page.get_by_test_id(f"butt-{index}")).to_contain_text(words)
    await expect(page.get_by_test_id("butt-1")).to_contain_text("± 10 cm")  # 9.2, never said smaller than it is
    await page.get_by_role("button", name="Inches").click()
    # 1.24 m are 48.8 in, 49 of them 4 ft 1 in; 0.092 m are 3.6 in.
    assert [round(in_inches(abs(m))) for m in (0.31, -0.07, 1.24)] == [12, 3, 49]
    imperial = {1: "12 in inside", 2: "3 in outside", 3: "4 ft 1 in inside", 4: "on the ball line", 5: "–"}
    for index, words in imperial.items():
        await expect(page.get_by_test_id(f"butt-{index}")).to_contain_text(words)
    await expect(page.get_by_test_id("butt-1")).to_contain_text("± 4 in")
    await page.reload()  # remembered
    await expect(page.get_by_role("button", name="Inches")).to_have_attribute("aria-pressed", "true")


async def fill(page: Page, label: str, text: str) -> None:
    field = page.get_by_label(label)
    await field.fill(text)
    await field.press("Tab")


async def test_lengths_are_entered_in_the_readers_units(open_page: OpenPage, feed: Feed) -> None:
    feed.hello = samples.hello(source=LIVE, player=MARA)
    page = await open_page(locale="en-US", viewport=PHONE)
    await fill(page, "Club, butt to head, in", "37")
    told = await feed.asked()
    assert isinstance(told, LengthsMessage)
    assert told.club_length_m == pytest.approx(float(37 * INCH_M), abs=1e-9)
    assert told.arm_length_m is None
    feed.hello = samples.hello(source=LIVE, player=MARA.model_copy(update={"club_length_m": told.club_length_m}))
    await feed.send(feed.hello)
    await page.get_by_role("button", name="Centimetres").click()
    await expect(page.get_by_label("Club, butt to head, cm")).to_have_value("94")  # 93.98
    await fill(page, "Lead arm, shoulder to the middle of the hands, cm", "61,5")
    told = await feed.asked()
    assert (told.arm_length_m, told.club_length_m) == (pytest.approx(0.615), pytest.approx(float(37 * INCH_M)))
    await fill(page, "Club, butt to head, cm", "940")
    await expect(page.get_by_test_id("fault-club-length")).to_have_text("Between 40 and 150 cm, or nothing.")
    await shoot(page, "lengths-phone", full_page=True)
    assert await page.evaluate(CLIPPED) == []
    assert await violations(page) == []
    assert feed.heard.empty()


async def test_what_is_remembered_of_a_club_goes_with_it(open_page: OpenPage, feed: Feed) -> None:
    kept = """
      localStorage.setItem('pitchbend.club', '7 iron'); localStorage.setItem('pitchbend.view', 'stand');
      localStorage.setItem('pitchbend.club-lengths', '{"7 iron": 0.94, "5 wood": 99}');
    """
    feed.hello = samples.hello(source=LIVE, player=MARA.model_copy(update={"club": ""}))
    feed.now = samples.frame()
    page = await open_page(stand=True)
    await page.add_init_script(kept)
    await page.reload()
    told = [await feed.asked(), await feed.asked()]
    assert told[0].type == "club"
    assert told[1] == LengthsMessage(club_length_m=0.94, arm_length_m=None)
