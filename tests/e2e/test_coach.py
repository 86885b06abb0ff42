"""The coach's page: cards of all students, and one enlarged with its line and values."""

from __future__ import annotations

import re

from playwright.async_api import expect

from fusion.drills.quantity import Quantity
from sensors.events import RepMark
from server.bays.remote_bay import away_text
from server.wire import EndMessage, ProblemMessage
from server.wire_lesson import MarkRepMessage, RepMarkMessage
from tests.e2e import coach_samples, samples
from tests.e2e.coach_page import open_coach
from tests.e2e.conftest import OpenPage
from tests.e2e.feed import Feed
from tests.e2e.shots import shoot
from tests.e2e.sound import listen as hear
from tests.e2e.sound import stays_silent
from tests.e2e.test_accessibility import violations


async def test_each_student_is_a_card(open_page: OpenPage, feed: Feed) -> None:
    page = await open_coach(open_page, feed, *coach_samples.six())
    cards = page.get_by_role("region", name="Students").get_by_role("listitem")
    await expect(cards).to_have_count(6)
    mara = page.get_by_test_id("card-mara-voss")
    for words in ("Mara Voss", "7-iron, Bay 1", "lead arm level", "−17°", "cupped", "66°", "cue sounding"):
        await expect(mara).to_contain_text(words)
    for words in ("block 2 of 4, rep 4 of 10", "Rep 13 past the band", "7 of 12 judged in the band", "student steers"):
        await expect(mara).to_contain_text(words)
    await expect(page.get_by_test_id("card-tom-okafor")).to_contain_text("coach steers")
    await expect(page.get_by_test_id("card-tom-okafor")).to_contain_text("bowed")
    lost = page.get_by_test_id("card-li")
    await expect(lost).to_have_count(1)
    stale = page.get_by_test_id(f"card-{coach_samples.NAMES[3][0]}")
    await expect(stale).to_contain_text("no fresh data")
    await expect(stale).to_contain_text("Forearm sensor: the link was lost. Bring the computer nearer.")
    await expect(stale).not_to_contain_text("°")
    await feed.board.show(coach_samples.quiet(3, "stale"))
    await expect(stale).to_contain_text("a sensor is silent, or a fit is being worked out")
    text = away_text("mat-3", left=False)
    await feed.board.show(coach_samples.quiet(3, "away", problem=text))
    await expect(stale).to_contain_text("away")
    await expect(stale).to_contain_text("The computer of this practice (mat-3) does not answer")
    # Nobody's practice is listened to before the coach has chosen one, unless there is only one.
    assert feed.bays["mara-voss"].asked_with == []


async def test_no_student_yet_says_how_to_begin(open_page: OpenPage, feed: Feed) -> None:
    page = await open_coach(open_page, feed)
    await expect(page.get_by_test_id("no-students")).to_contain_text("pitchbend live")
    await feed.board.show(coach_samples.bay())
    await expect(page.get_by_role("heading", name="Mara Voss")).to_be_visible()


async def test_a_link_that_is_not_the_coachs_says_which_to_open(open_page: OpenPage, feed: Feed) -> None:
    feed.board.refuses = (4403, "The board of all practices is for the coach. Ask the coach for a link to it.")
    page = await open_coach(open_page, feed)
    advice = page.get_by_test_id("board-advice")
    await expect(advice).to_contain_text("The board of all practices is for the coach.")
    await expect(advice).to_contain_text("Open the coach link that Pitchbend printed")
    await expect(page.get_by_test_id("board-status")).to_have_text("Not let in")
    feed.board.refuses = None
    await page.reload()
    await expect(page.get_by_test_id("board-status")).to_have_text("Live")
    await expect(advice).to_have_text("")


async def test_a_server_that_goes_away_leaves_nothing_that_looks_like_now(open_page: OpenPage, feed: Feed) -> None:
    page = await open_coach(open_page, feed, coach_samples.bay(0), coach_samples.bay(1), at="mara-voss")
    feed.bays["mara-voss"].now = samples.frame(**samples.CUPPED)
    await expect(page.get_by_test_id("coach-figure")).to_have_text("−17°")
    feed.bays["mara-voss"].refuses = True
    feed.board.refuses = (1012, "")
    await feed.board.drop()
    await feed.bays["mara-voss"].drop()
    await expect(page.get_by_test_id("board-status")).to_have_text("Server gone")
    await expect(page.get_by_test_id("board-advice")).to_contain_text("nothing here is of now")
    await expect(page.get_by_test_id("card-mara-voss")).not_to_contain_text("°")
    await expect(page.get_by_test_id("card-mara-voss")).to_contain_text("Mara Voss")
    await expect(page.get_by_test_id("coach-figure")).to_have_text("–")


async def test_a_student_whose_computer_is_away_is_said_to_be_so_once(open_page: OpenPage, feed: Feed) -> None:
    page = await open_coach(open_page, feed, coach_samples.bay(0))
    mara, text = feed.bays["mara-voss"], away_text("mat-3", left=False)
    mara.now = samples.frame(**samples.CUPPED)
    await expect(page.get_by_test_id("coach-figure")).to_have_text("−17°")
    mara.now = None
    await feed.board.show(coach_samples.quiet(0, "away", problem=text))
    await mara.send(ProblemMessage(code="bay_away", text=text))
    status = page.get_by_test_id("bay-status")
    await expect(status).to_have_class(re.compile("stale"))
    await expect(status).to_have_text("away")
    await expect(page.get_by_test_id("enlarged").get_by_text("mat-3")).to_have_count(1)
    await expect(page.get_by_test_id("bay-notice")).to_have_count(0)  # no sensor is blamed
    await expect(page.get_by_test_id("coach-figure")).to_have_text("–")
    await shoot(page, "coach-away")
    assert await violations(page) == []


async def test_the_enlarged_student_leads_with_the_drills_quantity(open_page: OpenPage, feed: Feed) -> None:
    page = await open_coach(open_page, feed, coach_samples.bay(0), coach_samples.bay(1))
    tom = feed.bays["tom-okafor"]
    pitch = samples.drill(name="Lay the shaft down", quantity=Quantity.SHAFT_PITCH)
    tom.hello = coach_samples.hello(1, drill=pitch)
    await page.get_by_role("link", name="Tom Okafor").click()
    tom.now = samples.frame(**samples.CUPPED)
    enlarged = page.get_by_test_id("enlarged")
    await expect(enlarged.get_by_role("heading", name="Lay the shaft down")).to_be_visible()
    await expect(enlarged).to_contain_text("driver, lead arm right")
    shown = page.get_by_role("group", name="What is shown")
    await expect(shown.get_by_role("button")).to_have_text(["Pitch", "Bend", "Roll", "Face twist"])
    await expect(shown.get_by_role("button", name="Pitch")).to_have_attribute("aria-pressed", "true")
    await expect(page.get_by_test_id("coach-figure")).to_have_text("66°")
    await shown.get_by_role("button", name="Face twist").click()
    await expect(page.get_by_test_id("coach-figure")).to_have_text("−31°")
    await expect(page.get_by_test_id("coach-words")).to_have_text("open")
    await expect(page.get_by_test_id("trace")).to_contain_text("band is about another quantity.")
    assert tom.asked_with[-1] == "bay=tom-okafor&as=coach"


NOW_DRAWN = "() => window.__pitchbendCoach.bay()?.swings.reps.map((swing) => swing.rep)"


async def test_values_at_the_marks_and_marking_a_rep(open_page: OpenPage, feed: Feed) -> None:
    page = await open_coach(open_page, feed, coach_samples.bay(0))
    mara = feed.bays["mara-voss"]
    await expect(page.get_by_test_id("readouts")).to_contain_text("No rep yet")
    await mara.send(samples.good_rep(1))
    await coach_samples.play(mara, 20.0)
    await mara.send(samples.rep(2, t_s=20.0))
    rows = page.get_by_test_id("readouts").locator("tbody tr")
    await expect(rows).to_have_count(2)
    spread = " one standard deviation: ± 1°"
    await expect(rows.nth(0).locator("td")).to_contain_text(["−7°" + spread, "−17°" + spread, "−12°" + spread, ""])
    # The swing of the first was never seen here: its values stand, their spread is not known.
    await expect(rows.nth(1).locator("td").nth(1)).to_have_text("+4°")
    assert await page.evaluate(NOW_DRAWN) == [2]
    await page.get_by_role("button", name="Good: rep 2").click()
    assert await mara.asked() == MarkRepMessage(rep=2, mark=RepMark.GOOD)
    await expect(page.get_by_role("button", name="Good: rep 2")).to_have_attribute("aria-pressed", "false")
    await mara.send(RepMarkMessage(rep=2, mark=RepMark.GOOD))
    await expect(page.get_by_role("button", name="Good: rep 2")).to_have_attribute("aria-pressed", "true")
    await page.get_by_role("button", name="Good: rep 2").click()
    assert await mara.asked() == MarkRepMessage(rep=2, mark=RepMark.NONE)
    await page.get_by_role("button", name="Pitch").click()
    await expect(rows.nth(0).locator("td")).to_contain_text(["–", "66°", "41°", ""])
    await mara.send(EndMessage(again=True))
    await expect(page.get_by_test_id("readouts")).to_contain_text("No rep yet")
    assert await page.evaluate(NOW_DRAWN) == []


async def test_the_page_is_silent_until_the_coach_listens(open_page: OpenPage, feed: Feed) -> None:
    page = await open_coach(open_page, feed, coach_samples.bay(0), hears=True)
    mara = feed.bays["mara-voss"]
    mara.now = samples.frame(**samples.CUPPED)
    await expect(page.get_by_test_id("coach-figure")).to_have_text("−17°")
    listen = page.get_by_test_id("listen")
    await expect(listen).to_have_attribute("aria-pressed", "false")
    assert await page.evaluate("window.__tapReady") is None  # there is not even a sound device in use
    await listen.click()
    await expect(listen).to_have_attribute("aria-pressed", "true")
    heard = await hear(page)
    # Cupped sounds below the note of 330 Hz that stands for the band's edge (docs/cues.md).
    assert heard.peak > 0.05
    assert heard.frequency_hz() < 330.0
    await listen.click()
    await expect(listen).to_have_attribute("aria-pressed", "false")
    await stays_silent(page)


async def test_a_test_under_way_is_the_students(open_page: OpenPage, feed: Feed) -> None:
    page = await open_coach(open_page, feed, coach_samples.bay(0), at="mara-voss")
    await expect(page.get_by_test_id("enlarged")).to_be_visible()
    feed.bays["mara-voss"].hello = coach_samples.hello(0, course=samples.course(block=3))
    await feed.bays["mara-voss"].drop()
    await expect(page.get_by_test_id("coach-test")).to_contain_text("counts as help")


async def test_keys_reach_cards_and_what_a_coach_can_do(open_page: OpenPage, feed: Feed) -> None:
    page = await open_coach(open_page, feed, coach_samples.bay(0), coach_samples.bay(1))
    await expect(page.get_by_role("link", name="Tom Okafor")).to_be_visible()
    reached = []
    for _ in range(4):
        await page.keyboard.press("Tab")
        reached.append(await page.evaluate("document.activeElement.textContent.trim()"))
    assert reached == ["Listen", "Evening", "Mara Voss", "Tom Okafor"]
    await page.keyboard.press("Enter")
    await expect(page.get_by_test_id("enlarged")).to_be_visible()
    await expect(page.get_by_role("link", name="Tom Okafor")).to_have_attribute("aria-current", "true")
    await page.keyboard.press("Tab")
    assert await page.evaluate("document.activeElement.textContent.trim()") == "Take control"


async def test_the_students_page_does_not_load_the_coachs(open_page: OpenPage, feed: Feed) -> None:
    loaded: list[str] = []
    page = await open_page()
    page.on("request", lambda request: loaded.append(request.url.rsplit("/", 1)[-1]))
    await page.reload()
    await expect(page.get_by_test_id("bend-figure")).to_have_text("0°")
    scripts = [name for name in loaded if name.endswith(".js")]
    assert scripts
    elsewhere = (
        "Coach",
        "Progress",
        "Review",
        "arm_scene",
        "swing_plot",
        "review_plot",
        "days_plot",
        "drawing",
        "uPlot",
    )
    assert not [name for name in scripts if name.startswith(elsewhere)], scripts
    assert feed.board.n_connections == 0
