"""Choosing a drill, going through its blocks, and the test in which page and sound keep silent."""

from __future__ import annotations

import pytest
from playwright.async_api import expect

from fusion.drills.quantity import Quantity, Unit
from fusion.outputs.cue import SignalKind
from fusion.outputs.rep import Verdict
from server.wire import DrillMessage, SourceView
from server.wire_drills import JudgedView, SignalMessage
from tests.e2e import samples
from tests.e2e.conftest import OpenPage
from tests.e2e.feed import Feed
from tests.e2e.sound import heard_of, hush, listen, sounded
from tests.e2e.test_accessibility import violations
from tests.e2e.test_layout import CLIPPED


async def test_a_tap_chooses_a_drill_and_the_page_follows_what_the_server_says(open_page: OpenPage, feed: Feed) -> None:
    feed.hello = samples.hello(drills=samples.choices())
    page = await open_page()
    await expect(page.get_by_role("button", name="Flat wrist going back")).to_have_attribute("aria-pressed", "true")
    await page.get_by_role("button", name="Lay the shaft down").click()
    assert (await feed.asked()).id == "b"
    await expect(page.get_by_role("heading", name="Flat wrist going back")).to_be_visible()
    steep = samples.drill(name="Lay the shaft down", quantity=Quantity.SHAFT_PITCH, low_deg=40.0, high_deg=88.0)
    await feed.send(DrillMessage(drill=steep, course=samples.course(swung=0)))
    await expect(page.get_by_role("heading", name="Lay the shaft down")).to_be_visible()
    await expect(page.get_by_role("button", name="Lay the shaft down")).to_have_attribute("aria-pressed", "true")
    await expect(page.get_by_test_id("course")).to_have_text("Block 1 of 4, rep 1 of 10: cue on every rep.")


async def test_blocks_are_told_and_cued_apart_from_silent(open_page: OpenPage, feed: Feed) -> None:
    feed.hello = samples.hello(drills=samples.choices(), course=samples.course(block=1))
    page = await open_page()
    await expect(page.get_by_test_id("course")).to_have_text(
        "Block 2 of 4, rep 4 of 10: cue on every other rep. This one is cued."
    )
    silent = samples.course(block=1).model_copy(update={"cued": False})
    await feed.send(DrillMessage(drill=samples.drill(), course=silent))
    await expect(page.get_by_test_id("course")).to_contain_text("This one is silent.")
    rows = page.get_by_test_id("blocks").locator("li")
    await expect(rows.nth(0)).to_contain_text("4 of 9 in the band")
    await expect(rows.nth(1)).to_contain_text("1 of 3 in the band")
    await expect(rows.nth(3)).to_contain_text("test, no cue")


@pytest.mark.parametrize("shape", [(390, 844), (844, 390), (1024, 768)])
async def test_a_test_shows_no_figure_and_no_verdict_until_it_is_over(
    open_page: OpenPage, feed: Feed, shape: tuple[int, int]
) -> None:
    feed.hello = samples.hello(drills=samples.choices(), course=samples.course(block=3), reps=samples.reps())
    feed.now = samples.frame(**samples.CUPPED)
    page = await open_page(viewport={"width": shape[0], "height": shape[1]})
    test = page.get_by_test_id("test")
    await expect(test).to_contain_text("3 of 10")
    for hidden in ("bend-figure", "pitch-figure", "verdict"):
        await expect(page.get_by_test_id(hidden)).to_have_count(0)
    await expect(page.locator("table")).to_have_count(0)
    await expect(page.get_by_test_id("blocks")).not_to_contain_text("1 of 3 in the band")
    assert await page.evaluate("document.documentElement.scrollWidth <= document.documentElement.clientWidth")
    await feed.send(DrillMessage(drill=samples.drill(), course=samples.course(block=None)))
    await expect(test).to_have_count(0)
    await expect(page.get_by_test_id("bend-figure")).to_have_text("\u221217°")
    await expect(page.get_by_test_id("course")).to_contain_text("All blocks done")
    await expect(page.get_by_test_id("blocks").locator("li").nth(3)).to_contain_text("7 of 9 in the band")


@pytest.mark.parametrize(
    ("quantity", "title", "said"),
    [
        (Quantity.ROLL_CHANGE, "Forearm roll since address", "unrolled"),
        (Quantity.BEND, "Wrist bend from straight", "cupped"),
        (Quantity.FACE_TWIST, "Face twist since address", "open"),
    ],
)
async def test_a_quantity_without_a_picture_has_its_figure(
    open_page: OpenPage, feed: Feed, quantity: Quantity, title: str, said: str
) -> None:
    feed.hello = samples.hello(drill=samples.drill(quantity=quantity))
    feed.now = samples.frame(**samples.CUPPED | {"roll_change_deg": -20.0, "bend_deg": -20.0, "face_twist_deg": -20.0})
    page = await open_page()
    await expect(page.get_by_role("heading", name=title)).to_be_visible()
    await expect(page.get_by_test_id("other-figure")).to_have_text("\u221220°")
    await expect(page.get_by_test_id("other-word")).to_have_text(said)
    await expect(page.get_by_test_id("other-past")).to_contain_text("9° past")


async def test_the_cue_begins_early_by_what_the_device_is_late(open_page: OpenPage, feed: Feed) -> None:
    page = await open_page()
    early = page.get_by_role("button", name="Begin the cue early (turn the sound on first)")
    await expect(early).to_be_disabled()
    await page.get_by_test_id("sound").click()
    early = page.get_by_role("button", name="early")
    await expect(early).to_be_enabled()
    await early.click()
    asked = await feed.asked()
    assert asked.type == "look_ahead"
    assert asked.ms in range(10, 201, 10)
    assert asked.ms >= await page.evaluate("window.__pitchbend.latencyMs()")
    await feed.send(DrillMessage(drill=samples.drill(), course=None, look_ahead_ms=asked.ms))
    await expect(page.get_by_test_id("look-ahead")).to_contain_text(f"begins {asked.ms} ms early")
    await page.get_by_role("button", name="Begin the cue at").click()
    assert (await feed.asked()).ms == 0


async def test_what_is_about_to_be_is_heard_and_not_shown(open_page: OpenPage, feed: Feed) -> None:
    """The error that the cue sounds has a side of its own: below the band it must not sound like above."""
    page = await open_page()
    await page.get_by_test_id("sound").click()
    await feed.show(**samples.INSIDE | {"sounding": True, "cue_error_deg": -4.0})
    await page.wait_for_function("window.__pitchbend.cueTrace().some((one) => one.sounding && one.errorDeg === -4)")
    await expect(page.get_by_test_id("bend-past")).to_have_text("")


@pytest.mark.parametrize("stand", [True, False], ids=["stand", "whole"])
@pytest.mark.parametrize("shape", [(390, 844), (844, 390), (1024, 768)])
async def test_a_second_drill_is_shown_small_and_only_where_there_is_one(
    open_page: OpenPage, feed: Feed, shape: tuple[int, int], stand: bool
) -> None:
    feed.hello = samples.hello(source=SourceView(kind="live", name="built-in radio", speed=1.0), reps=samples.reps())
    page = await open_page(viewport={"width": shape[0], "height": shape[1]}, stand=stand)
    line = page.get_by_test_id("second")
    await expect(page.get_by_test_id("strip")).to_be_visible()
    await expect(line).to_have_count(0)
    pitch = samples.drill(name="Lay the shaft down", quantity=Quantity.SHAFT_PITCH, low_deg=40.0, high_deg=88.0)
    await feed.send(DrillMessage(drill=samples.drill(), course=None, second=pitch))
    await expect(line).to_have_text("Also: Lay the shaft down")
    judged = JudgedView(drill=pitch.name, quantity=pitch.quantity, unit=pitch.unit, verdict=Verdict.ABOVE, worst=94.2)
    await feed.send(samples.rep(21, second=judged))
    await expect(line).to_have_text("Also: Lay the shaft down: steep 6° past its band")
    await feed.send(samples.rep(22, second=judged.model_copy(update={"drill": "An earlier one"})))
    await expect(line).to_have_text("Also: Lay the shaft down")
    await feed.send(samples.rep(23, second=judged.model_copy(update={"verdict": Verdict.IN_BAND, "worst": 71.0})))
    await expect(line).to_have_text("Also: Lay the shaft down: in the band")
    assert await page.evaluate(CLIPPED) == []
    assert await violations(page) == []
    await feed.send(DrillMessage(drill=samples.drill(), course=samples.course(block=3), second=pitch))
    await expect(page.get_by_test_id("test")).to_be_visible()
    await expect(line).to_have_count(0)


async def test_in_a_test_not_even_what_is_told_at_the_end_sounds(open_page: OpenPage, feed: Feed) -> None:
    """The service sends no short sound in a test (`tests/unit/test_ending.py`); the page adds none for a rep of one."""
    tempo = samples.drill(name="Three back", quantity=Quantity.TEMPO, unit=Unit.RATIO, low=2.6, high=3.8)
    feed.hello = samples.hello(drill=tempo, course=samples.course(block=3))
    page = await open_page(hears=True)
    await page.get_by_test_id("sound").click()
    await hush(page)  # the tap's own blip is over
    told = samples.rep(1, quantity=Quantity.TEMPO, verdict=Verdict.IN_BAND, worst=3.1, worst_deg=None)
    await feed.send(told.model_copy(update={"cued": False, "testing": True}))
    await page.wait_for_function("window.__pitchbend.lastRep() === 1")
    assert (await heard_of(page, more_s=0.6)).peak == 0.0
    # The same ear hears the short sound of a rep that is no test.
    await hush(page)
    await feed.send(SignalMessage(t_s=1.0, kind=SignalKind.IN_BAND))
    assert (await sounded(page)).peak > 0.01


async def test_the_sound_is_tried_with_one_tap_whether_it_was_on_or_not(open_page: OpenPage, feed: Feed) -> None:
    page = await open_page(hears=True)
    tap = page.get_by_role("button", name="Try the sound")
    await tap.click()
    await expect(page.get_by_test_id("sound")).to_have_text("Sound on")
    await hush(page)
    assert (await listen(page)).peak == 0.0
    await hush(page)
    await tap.click()
    assert (await sounded(page)).peak > 0.01
    await expect(page.get_by_test_id("sound")).to_have_text("Sound on")
