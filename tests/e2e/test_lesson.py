"""What a coach does to a practice, as the student's page shows it: who steers, what is said, and a page that is not let in."""

from __future__ import annotations

import asyncio
import re

import pytest
from playwright.async_api import Page, expect

from sensors.events import RepMark
from server.remarks import MAX_SAID
from server.routes.socket import NO_SUCH_BAY
from server.wire_lesson import ControlAskMessage, ControlMessage, NoteMessage, RepMarkMessage, SaidMessage
from tests.e2e import samples
from tests.e2e.browser import PHONE, PHONE_SIDEWAYS, TABLET
from tests.e2e.conftest import OpenPage
from tests.e2e.feed import Feed
from tests.e2e.shots import shoot
from tests.e2e.test_accessibility import violations
from tests.e2e.test_layout import CLIPPED

SIZES = {"phone": PHONE, "phone-sideways": PHONE_SIDEWAYS, "tablet": TABLET}
LONG = ("Let the lead wrist stay flat a little longer on the way back, and take your time at the top. " * 2)[:MAX_SAID]


async def hidden(page: Page, test_id: str) -> object:
    """What of it is cut off or covered; an empty list when all is seen."""
    return await page.get_by_test_id(test_id).evaluate(
        """(e) => {
              const r = e.getBoundingClientRect();
              const over = document.elementFromPoint(r.x + r.width / 2, r.y + r.height / 2);
              const faults = { above: r.top < 0, below: r.bottom > innerHeight, beside: r.right > innerWidth,
                scrolls: e.scrollHeight > e.clientHeight + 3, covered: !e.contains(over) };
              return Object.keys(faults).filter((name) => faults[name]);
            }"""
    )


@pytest.mark.parametrize("stand", [True, False])
@pytest.mark.parametrize("screen", list(SIZES))
async def test_steering_and_a_long_message_are_seen_whole(
    open_page: OpenPage, feed: Feed, screen: str, stand: bool
) -> None:
    feed.hello = samples.hello(control="coach", reps=samples.reps())
    page = await open_page(stand=stand, viewport=SIZES[screen], color_scheme="light" if stand else "dark")
    await expect(page.get_by_test_id("control")).to_have_text("Your coach is steering.")
    assert await hidden(page, "control") == []
    assert await page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    await shoot(page, f"lesson-steered-{screen}-{'stand' if stand else 'whole'}")
    assert await page.evaluate(CLIPPED) == []
    await feed.send(SaidMessage(id=1, t_s=3.0, text=LONG))
    await expect(page.get_by_test_id("said")).to_contain_text(LONG)
    assert await hidden(page, "said") == []
    await shoot(page, f"lesson-said-{screen}-{'stand' if stand else 'whole'}")
    assert await violations(page) == []


async def test_a_message_is_put_away_and_stays_so_until_the_next(open_page: OpenPage, feed: Feed) -> None:
    first = SaidMessage(id=4, t_s=3.0, text="Slower going back.")
    feed.hello = samples.hello(said=[first])
    page = await open_page()
    await expect(page.get_by_test_id("said")).to_contain_text("Slower going back.")
    await page.get_by_role("button", name="I have read it").click()
    await expect(page.get_by_test_id("said")).to_have_count(0)
    await feed.drop()
    while feed.n_connections < 2:
        await asyncio.sleep(0.05)
    await feed.send(SaidMessage(id=5, t_s=4.0, text="Once more."))
    await expect(page.get_by_test_id("said")).to_contain_text("Once more.")
    feed.hello = samples.hello(said=[first.model_copy(update={"id": 1, "text": "A new evening."})])
    await page.get_by_role("button", name="I have read it").click()
    await feed.drop()
    await expect(page.get_by_test_id("said")).to_contain_text("A new evening.")


async def test_the_student_takes_the_control_back_and_is_told_when_it_comes_back(
    open_page: OpenPage, feed: Feed
) -> None:
    page = await open_page()
    await expect(page.get_by_test_id("bend-figure")).to_have_text("0°")
    await expect(page.get_by_test_id("control")).to_have_text("")
    await feed.send(ControlMessage(holder="coach", reason="asked", by="coach"))
    await page.get_by_role("button", name="Take back").click()
    assert await feed.asked() == ControlAskMessage(hold=True)
    await feed.send(ControlMessage(holder="student", reason="taken_back", by="student"))
    await expect(page.get_by_test_id("control")).to_have_text("")
    await feed.send(ControlMessage(holder="coach", reason="asked", by="coach"))
    await feed.send(ControlMessage(holder="student", reason="coach_gone"))
    await expect(page.get_by_test_id("control")).to_have_text("Your coach has gone. You are steering again.")
    assert await hidden(page, "control") == []
    await page.get_by_test_id("control-act").click()
    await expect(page.get_by_test_id("control")).to_have_text("")


async def test_what_the_coach_steers_cannot_be_tapped_and_says_why(open_page: OpenPage, feed: Feed) -> None:
    feed.hello = samples.hello(control="coach", drills=samples.choices(), look_ahead_ms=60)
    page = await open_page()
    locked = [
        page.get_by_role("button", name=re.compile("^Lay the shaft down")),
        page.get_by_role("button", name="Begin the cue at the band"),
    ]
    for button in locked:
        await expect(button).to_be_disabled()
        await expect(button).to_have_accessible_description("Your coach is steering. Take back to change this here.")
    await shoot(page, "lesson-locked", full_page=True)
    assert await violations(page) == []
    await page.evaluate("location.hash = '#drill'")
    asked = await feed.asked()
    assert asked.type == "edit_drill"
    await page.evaluate("location.hash = ''")
    await feed.send(ControlMessage(holder="student", reason="asked", by="coach"))
    for button in locked:
        await expect(button).to_be_enabled()
    await expect(page.get_by_test_id("drills-locked")).to_have_count(0)


async def test_marks_and_notes_stand_beside_the_rep_and_a_rep_told_twice_is_one(
    open_page: OpenPage, feed: Feed
) -> None:
    feed.hello = samples.hello(reps=[samples.rep(3), samples.rep(4), samples.rep(3)])
    page = await open_page()
    await expect(page.get_by_test_id("verdict")).to_contain_text("Rep 3:")
    await feed.send(samples.rep(4))
    await expect(page.get_by_test_id("verdict")).to_contain_text("Rep 4:")
    await expect(page.get_by_test_id("strip").get_by_role("listitem")).to_have_count(2)
    await feed.send(RepMarkMessage(rep=4, mark=RepMark.LOOK, by="coach"))
    await feed.send(NoteMessage(id=1, t_s=3.0, text="Elbow behind again.", rep=4, by="coach"))
    await feed.send(NoteMessage(id=2, t_s=4.0, text="Wind from the left.", rep=None, by="coach"))
    remark = "Marked to look at again. “Elbow behind again.”"  # as it is typeset
    await expect(page.get_by_test_id("remark")).to_have_text(remark)
    await expect(page.get_by_test_id("strip").get_by_role("listitem").last).to_contain_text(remark)
    await shoot(page, "lesson-remark")
    await feed.send(RepMarkMessage(rep=4, mark=RepMark.NONE, by="coach"))
    await expect(page.get_by_test_id("remark")).to_have_text("“Elbow behind again.”")
    await feed.send(samples.rep(5))
    await expect(page.get_by_test_id("remark")).to_have_count(0)


async def test_the_page_asks_for_the_practice_of_its_address(open_page: OpenPage, feed: Feed) -> None:
    page = await open_page(path="/?bay=mara-2&as=coach&more=1")
    await page.get_by_role("button", name="Take over").click()
    assert await feed.asked() == ControlAskMessage(hold=True)
    assert feed.asked_with == ["bay=mara-2&as=coach"]


async def test_a_page_that_is_not_let_in_says_why_and_does_not_knock_again(open_page: OpenPage, feed: Feed) -> None:
    feed.turns_away = (NO_SUCH_BAY, "There is no practice of that name here.")
    page = await open_page(path="/?bay=nobody")
    await expect(page.get_by_test_id("status")).to_have_text("Not let in")
    await expect(page.get_by_text("There is no practice of that name here.")).to_be_visible()
    await shoot(page, "lesson-refused")
    await asyncio.sleep(1.5)  # the first pause of a lost link is 0.4 s
    assert feed.n_connections == 1
    assert await violations(page) == []
