"""The last rep in a sentence and in figures, and the latest twelve told apart by shape."""

from __future__ import annotations

import pytest
from playwright.async_api import expect

from fusion.outputs.rep import RepFlag
from server.wire import EndMessage, RepMessage
from tests.e2e import samples
from tests.e2e.conftest import OpenPage
from tests.e2e.feed import Feed


@pytest.mark.parametrize(
    ("rep", "sentence"),
    [
        (samples.rep(7), "Rep 7: cupped 9° past the band at lead arm level"),
        (samples.rep(8, worst_deg=-22.0), "Rep 8: cupped 14° past the band"),
        (samples.bowed_rep(9), "Rep 9: bowed 12° past the band at lead arm level"),
        (samples.good_rep(10), "Rep 10: inside the band all the way"),
        (
            samples.unjudged_rep(11),
            "Rep 11: not judged. Samples were lost in the swing; keep the phone or computer within a few metres.",
        ),
    ],
)
async def test_the_verdict_is_one_plain_sentence(
    open_page: OpenPage, feed: Feed, rep: RepMessage, sentence: str
) -> None:
    page = await open_page()
    verdict = page.get_by_test_id("verdict")
    await expect(verdict).to_contain_text("No rep yet")
    await feed.send(rep)
    await expect(verdict).to_have_text(sentence)


async def test_the_figures_of_the_last_rep(open_page: OpenPage, feed: Feed) -> None:
    page = await open_page()
    await expect(page.get_by_test_id("bend-figure")).to_have_text("0°")
    await feed.send(samples.rep(3))
    rows = page.locator("table tbody tr")
    await expect(rows.nth(0).locator("td")).to_have_text(["\u22127°", "\u2013", "\u221220°"])
    await expect(rows.nth(1).locator("td")).to_have_text(["\u221217°", "66°", "\u221231°"])
    await expect(rows.nth(2).locator("td")).to_have_text(["\u221212°", "41°", "\u221258°"])


async def test_tempo_flags_and_what_more_bow_would_have_done(open_page: OpenPage, feed: Feed) -> None:
    page = await open_page()
    await expect(page.get_by_test_id("bend-figure")).to_have_text("0°")
    await feed.send(samples.rep(3, flags=[RepFlag.NO_STRIKE]))
    card = page.get_by_role("region", name="Rep 3 in figures")
    await expect(card).to_contain_text("Back 0.84 s, down 0.27 s, tempo 3.1 to 1; out of the band for 0.21 s.")
    sensitivity = card.get_by_test_id("sensitivity")
    await expect(sensitivity).to_have_text("At lead arm level, 1° more bow: shaft 0.6° flatter.")
    await expect(card.get_by_test_id("flag")).to_have_text("No strike was felt.")
    steeper = samples.mark(-17.0, 66.0).model_copy(update={"pitch_per_bend": 0.27})
    await feed.send(samples.rep(4, arm_level=steeper))
    await expect(page.get_by_test_id("sensitivity")).to_contain_text("shaft 0.3° steeper")
    await feed.send(samples.rep(5, arm_level=None, tempo=None, downswing_s=None))
    await expect(page.get_by_role("region", name="Rep 5 in figures")).not_to_contain_text("tempo")
    await expect(page.get_by_test_id("sensitivity")).to_have_count(0)


async def test_twelve_marks_are_kept_and_a_repeat_counts_anew(open_page: OpenPage, feed: Feed) -> None:
    feed.hello = samples.hello(reps=samples.reps())
    page = await open_page()
    marks = page.get_by_role("list", name="The latest reps").locator("li")
    await expect(marks).to_have_count(12)
    await feed.send(samples.good_rep(13))
    await expect(marks).to_have_count(12)
    await expect(marks.nth(11)).to_have_text("Rep 13: inside the band all the way")
    kinds = await marks.evaluate_all("(items) => items.map((item) => item.querySelector('path').getAttribute('d'))")
    assert sum("a7 7" in kind for kind in kinds) == 6  # circles
    await feed.send(EndMessage(again=True))
    await expect(marks).to_have_count(0)
    await expect(page.get_by_test_id("verdict")).to_contain_text("Rep 13")
