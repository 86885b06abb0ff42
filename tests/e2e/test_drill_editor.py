"""Writing a drill on the page: tried on the last rep with every change, faults beside their field, put in force, kept."""

from __future__ import annotations

import asyncio
import math
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from typing import Any

import pytest
from playwright.async_api import expect

from fusion.drills.desk import Desk, monitor_of
from fusion.drills.parse import DrillInvalid, drill_from
from fusion.drills.swing_log import SwingLog
from fusion.outputs.instant import Angles, Doubt, Phase
from fusion.outputs.rep import Verdict
from server.drill_views import form_message, refused_message, tried_message
from server.drills import our_drills
from server.wire import ProblemMessage
from server.wire_drills import DrillsMessage, TriedMessage
from tests.e2e import samples
from tests.e2e.conftest import OpenPage
from tests.e2e.feed import Feed
from tests.e2e.test_accessibility import violations

PHONE, TABLET = (390, 844), (1024, 768)
WAY_BACK = (
    (0.0, Phase.TAKEAWAY),
    (0.3, Phase.SHAFT_LEVEL),
    (0.5, Phase.ARM_LEVEL),
    (0.85, Phase.TOP),
    (0.9, Phase.DOWNSWING),
)


def cupping_swing() -> Desk:
    """A desk whose last rep cups from 0 to 14 degrees at the top, evenly over 0.85 s."""
    desk, log = Desk(our_drills()[0].drill), SwingLog()
    for k in range(116):
        t_s = k / 100
        phase = [one for from_s, one in WAY_BACK if from_s <= t_s][-1]
        bend_rad = math.radians(-14 * min(t_s / 0.85, 1.0))
        log.push(5.0 + t_s, phase, Angles(bend_change_rad=bend_rad, shaft_pitch_rad=1.0), Doubt.NONE)
    desk.count(monitor_of(desk.drill), Verdict.BELOW, log)
    return desk


def tried(text: str, desk: Desk) -> TriedMessage:
    """What the service answers, of its own parts."""
    try:
        drill = drill_from(text)
    except DrillInvalid as error:
        return refused_message(error)
    return tried_message(drill, desk.last, desk.trial(drill))


@asynccontextmanager
async def answering(feed: Feed, desk: Desk) -> AsyncIterator[list[Any]]:
    """Answers about drills as the service does; gives whatever else the page asks."""
    others: list[Any] = []

    async def always() -> None:
        while True:
            asked = await feed.heard.get()
            if asked.type == "edit_drill":
                found = next((one for one in our_drills() if one.id == asked.id), None)
                await feed.send(form_message(asked.id or "", found.drill if found else desk.drill))
            elif asked.type == "try_drill":
                await feed.send(tried(asked.text, desk))
            else:
                others.append(asked)

    task = asyncio.create_task(always())
    try:
        yield others
    finally:
        task.cancel()


@pytest.mark.parametrize("shape", [PHONE, TABLET], ids=["phone", "tablet"])
@pytest.mark.parametrize("scheme", ["light", "dark"])
async def test_a_band_is_moved_with_the_last_rep_in_sight(
    open_page: OpenPage, feed: Feed, shape: tuple[int, int], scheme: str
) -> None:
    feed.hello = samples.hello(drills=samples.choices(), reps=samples.reps())
    page = await open_page(viewport={"width": shape[0], "height": shape[1]}, color_scheme=scheme)
    async with answering(feed, cupping_swing()):
        await page.get_by_role("link", name="Change this drill").click()
        trial = page.get_by_test_id("trial")
        # -8 is passed at 0.85 * 8 / 14 s = 0.49 s, and the drill ends at 0.85 s, where the wrist is cupped by 14.
        await expect(trial).to_contain_text("cupped 6° past the band, at −14°. A cue once, for 0.3")
        await expect(page.get_by_test_id("trial-span")).to_have_count(1)
        await expect(page.get_by_test_id("trial-band")).to_have_count(1)
        low = page.get_by_label("Band from")
        await low.fill("-20")
        await expect(trial).to_contain_text("in the band")
        await expect(page.get_by_test_id("trial-span")).to_have_count(0)
        await page.get_by_label("Tick inside the edge").fill("10")
        await expect(trial).to_contain_text("No cue, and a tick.")
        assert await violations(page) == []
        await low.fill("24")
        await expect(page.get_by_test_id("fault-high")).to_contain_text("the least is 4 deg")
        await expect(page.get_by_label("Band to")).to_have_attribute("aria-invalid", "true")
        await expect(trial).to_contain_text("Not yet a drill")
        assert await violations(page) == []
        assert await page.evaluate("document.documentElement.scrollWidth <= document.documentElement.clientWidth")
        await expect(trial).to_be_in_viewport()


async def test_a_page_that_does_not_come_is_told(open_page: OpenPage, feed: Feed) -> None:
    feed.hello = samples.hello()
    page = await open_page()
    await page.route("**/DrillEditor-*.js", lambda route: route.abort())
    await page.evaluate("location.hash = '#drill'")
    await expect(page.get_by_role("alert").filter(has_text="could not be loaded. Check the network")).to_be_visible()


async def test_it_is_put_in_force_and_kept_and_a_refusal_is_told(open_page: OpenPage, feed: Feed) -> None:
    feed.hello = samples.hello(drills=samples.choices())
    page = await open_page(path="/#drill")
    async with answering(feed, cupping_swing()) as others:
        name = page.get_by_label("Name", exact=True)
        await expect(name).to_have_value("Quiet wrist going back")
        await name.fill('Quiet "é" \\ wrist')
        await page.get_by_label("Aim").fill("Two\nlines")
        await page.get_by_role("button", name="Put it in force").click()
        await page.get_by_label("Keep it under the name").fill("my-drill")
        await page.get_by_role("button", name="Keep it").click()
        while len(others) < 2:
            await asyncio.sleep(0.02)
        force, keep = others
        drill = drill_from(force.text)
        assert (force.type, drill.name, drill.aim) == ("drill_text", 'Quiet "é" \\ wrist', "Two lines")
        assert drill.blocks == our_drills()[0].drill.blocks
        assert (keep.type, keep.id, keep.text) == ("save_drill", "my-drill", force.text)
        await feed.send(ProblemMessage(code="drill_refused", text="Only a coach keeps drills on this computer."))
        await expect(page.get_by_text("Only a coach keeps drills")).to_be_visible()
        await expect(page.get_by_test_id("kept")).to_have_text("")
        await feed.send(DrillsMessage(drills=samples.choices(), saved="my-drill"))
        await expect(page.get_by_test_id("kept")).to_have_text("Kept as my-drill.")


async def test_a_quantity_of_the_whole_swing_leaves_out_what_it_has_not(open_page: OpenPage, feed: Feed) -> None:
    feed.hello = samples.hello(drills=samples.choices())
    page = await open_page(path="/#drill")
    async with answering(feed, cupping_swing()) as others:
        await page.get_by_label("What is watched").select_option("tempo")
        await expect(page.get_by_label("Counts from")).to_have_count(0)
        await expect(page.get_by_label("Tick inside")).to_have_count(0)
        await page.get_by_label("Band from").fill("2.5")
        await page.get_by_label("Band to").fill("3.5")
        await expect(page.get_by_test_id("trial")).to_have_text("The last rep cannot be judged by it.")
        await page.get_by_role("button", name="Take block 4 away").click()
        reps = page.get_by_label("Reps")
        await expect(reps).to_have_count(3)
        await reps.nth(1).fill("0")
        await expect(page.get_by_test_id("fault-block-1-reps")).to_contain_text("1 to 200")
        await reps.nth(1).fill("6")
        await expect(page.get_by_test_id("fault-block-1-reps")).to_have_count(0)
        await page.get_by_role("button", name="Put it in force").click()
        while not others:
            await asyncio.sleep(0.02)
        drill = drill_from(others[0].text)
        assert (drill.quantity, drill.low, drill.high, drill.phases) == ("tempo", 2.5, 3.5, ())
        assert [block.n_reps for block in drill.blocks] == [10, 6, 8]


async def test_without_a_rep_and_without_a_server_it_says_so(open_page: OpenPage, feed: Feed) -> None:
    page = await open_page(path="/#drill")
    async with answering(feed, Desk(our_drills()[0].drill)):
        await expect(page.get_by_test_id("trial")).to_have_text("There is no rep yet to try it on.")
        feed.refuses = True
        await feed.drop()
        await expect(page.get_by_test_id("status")).not_to_have_text("Demo")
        await page.get_by_role("button", name="Put it in force").click()
        await expect(page.get_by_text("Not chosen: the server does not answer.")).to_be_visible()
