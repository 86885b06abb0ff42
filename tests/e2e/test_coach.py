"""The coach's page: cards of all students, one enlarged, its line and values, and what a coach can do."""

from __future__ import annotations

import asyncio

from playwright.async_api import Page, expect

from fusion.drills.quantity import Quantity
from fusion.outputs import Phase
from sensors.events import RepMark
from server.wire import DrillMessage, EndMessage, ProblemMessage
from server.wire_board import BoardBay
from server.wire_client import BandMessage, SecondMessage
from server.wire_lesson import (
    ControlAskMessage,
    ControlMessage,
    MarkRepMessage,
    NoteMessage,
    RepMarkMessage,
    SaidMessage,
    SayMessage,
    WriteNoteMessage,
)
from tests.e2e import coach_samples, samples
from tests.e2e.browser import TABLET
from tests.e2e.conftest import OpenPage
from tests.e2e.feed import Feed
from tests.e2e.sound import listen as hear

CHECK_S = 3.0


async def open_coach(open_page: OpenPage, feed: Feed, *bays: BoardBay, at: str = "", **context: object) -> Page:
    """Open the page with these students on the board, each with a feed of its own."""
    feed.board.message = feed.board.message.model_copy(update={"bays": list(bays)})
    for bay in bays:
        index = next(i for i, one in enumerate(coach_samples.NAMES) if one[0] == bay.id)
        own = feed.bays.setdefault(bay.id, Feed())
        own.hello = coach_samples.hello(index)
    return await open_page(path=f"/#coach{'/' + at if at else ''}", **{"viewport": TABLET} | context)


async def heard(feed: Feed) -> object:
    return await asyncio.wait_for(feed.heard.get(), CHECK_S)


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
    assert await lost.count() == 1
    stale = page.get_by_test_id(f"card-{coach_samples.NAMES[3][0]}")
    await expect(stale).to_contain_text("no fresh data")
    await expect(stale).to_contain_text("Forearm sensor: the link was lost. Bring the computer nearer.")
    await expect(stale).not_to_contain_text("°")
    await feed.board.show(coach_samples.quiet(3, "stale"))
    await expect(stale).to_contain_text("a sensor is silent or out of reach")
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
    assert await heard(mara) == MarkRepMessage(rep=2, mark=RepMark.GOOD)
    await expect(page.get_by_role("button", name="Good: rep 2")).to_have_attribute("aria-pressed", "false")
    await mara.send(RepMarkMessage(rep=2, mark=RepMark.GOOD))
    await expect(page.get_by_role("button", name="Good: rep 2")).to_have_attribute("aria-pressed", "true")
    await page.get_by_role("button", name="Good: rep 2").click()
    assert await heard(mara) == MarkRepMessage(rep=2, mark=RepMark.NONE)
    await page.get_by_role("button", name="Pitch").click()
    await expect(rows.nth(0).locator("td")).to_contain_text(["–", "66°", "41°", ""])
    await mara.send(EndMessage(again=True))
    await expect(page.get_by_test_id("readouts")).to_contain_text("No rep yet")
    assert await page.evaluate(NOW_DRAWN) == []


async def test_control_is_taken_and_given_back_in_the_open(open_page: OpenPage, feed: Feed) -> None:
    page = await open_coach(open_page, feed, coach_samples.bay(0))
    mara = feed.bays["mara-voss"]
    await expect(page.get_by_test_id("holder")).to_have_text("The student steers")
    drill = page.get_by_role("button", name="Lay the shaft down")
    await expect(drill).to_be_disabled()
    await expect(page.get_by_test_id("locked")).to_contain_text("Take control")
    await page.get_by_role("button", name="Take control").click()
    assert await heard(mara) == ControlAskMessage(hold=True)
    # It is taken when the server says so, not before.
    await expect(drill).to_be_disabled()
    await mara.send(ControlMessage(holder="coach", reason="asked", by="coach"))
    await expect(page.get_by_test_id("holder")).to_have_text("You steer")
    await drill.click()
    message = await heard(mara)
    assert message.type == "drill"  # type: ignore[attr-defined]
    await page.get_by_role("button", name="Look-ahead: more").click()
    ahead = await heard(mara)
    assert (ahead.type, ahead.ms) == ("look_ahead", 10)  # type: ignore[attr-defined]
    await mara.send(ControlMessage(holder="student", reason="taken_back", by="student"))
    await expect(page.get_by_test_id("hand-over")).to_have_text("The student took control back.")
    await expect(drill).to_be_disabled()


async def test_the_band_is_moved_in_steps_and_never_too_narrow(open_page: OpenPage, feed: Feed) -> None:
    page = await open_coach(open_page, feed, coach_samples.bay(0))
    mara = feed.bays["mara-voss"]
    await expect(page.get_by_role("button", name="Lower edge: more")).to_be_disabled()
    await mara.send(ControlMessage(holder="coach", reason="asked"))
    for _ in range(3):
        await page.get_by_role("button", name="Lower edge: more").click()
    await expect(page.get_by_test_id("band-low")).to_have_text("−5°")
    assert await heard(mara) == BandMessage(low=-5.0, high=14.0)  # three taps, one change
    await mara.send(ProblemMessage(code="drill_refused", text="The practice is over."))
    await expect(page.get_by_test_id("band-low")).to_have_text("−8°")
    narrow = samples.drill(low=-1.0, high=4.0, low_deg=-1.0, high_deg=4.0, least_band=4.8)
    await mara.send(DrillMessage(drill=narrow, course=None))
    await expect(page.get_by_test_id("band-low")).to_have_text("−1°")
    await expect(page.get_by_role("button", name="Lower edge: more")).to_be_disabled()
    await expect(page.get_by_role("button", name="Upper edge: less")).to_be_disabled()
    await expect(page.get_by_role("button", name="Lower edge: less")).to_be_enabled()
    await expect(page.get_by_test_id("enlarged")).to_contain_text("At least 5° wide")


async def test_a_second_drill_only_when_the_coach_asks(open_page: OpenPage, feed: Feed) -> None:
    page = await open_coach(open_page, feed, coach_samples.bay(0))
    mara = feed.bays["mara-voss"]
    second = page.get_by_label("A second drill")
    await expect(second).to_be_disabled()
    await mara.send(ControlMessage(holder="coach", reason="asked"))
    await expect(second).to_have_value("")
    await second.select_option("Lay the shaft down")
    assert await heard(mara) == SecondMessage(id="b")
    await expect(second).to_have_value("")
    asked_for = samples.drill(name="Lay the shaft down", quantity=Quantity.SHAFT_PITCH)
    await mara.send(DrillMessage(drill=samples.drill(), course=None, second=asked_for))
    await expect(second).to_have_value("b")
    await second.select_option("none")
    assert await heard(mara) == SecondMessage(id=None)


async def test_notes_and_lines_to_the_student(open_page: OpenPage, feed: Feed) -> None:
    page = await open_coach(open_page, feed, coach_samples.bay(0))
    mara = feed.bays["mara-voss"]
    await expect(page.get_by_test_id("coach-figure")).to_have_text("0°")
    await mara.send(samples.rep(7))
    await page.get_by_role("button", name="Slower going back.").click()
    assert await heard(mara) == SayMessage(text="Slower going back.")
    await mara.send(SaidMessage(id=1, t_s=5.0, text="Slower going back.", by="coach"))
    await expect(page.get_by_test_id("said")).to_have_text("Last sent: Slower going back.")
    await page.get_by_label("In your own words").fill("  Hold it at the top.  ")
    await page.keyboard.press("Enter")
    assert await heard(mara) == SayMessage(text="Hold it at the top.")
    await page.get_by_label("About").select_option("rep 7")
    await page.get_by_label("Note", exact=True).fill("Elbow behind again.")
    await page.get_by_role("button", name="Keep").click()
    assert await heard(mara) == WriteNoteMessage(text="Elbow behind again.", rep=7)
    await mara.send(NoteMessage(id=1, t_s=6.0, text="Elbow behind again.", rep=7))
    await expect(page.get_by_test_id("notes")).to_have_text("Rep 7: Elbow behind again.")
    await mara.send(ProblemMessage(code="too_fast", text="That was too many at once."))
    await expect(page.get_by_role("log")).to_contain_text("That was too many at once.")


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
    await page.wait_for_timeout(200)
    await page.evaluate("window.__pcm.length = 0")
    await page.wait_for_timeout(100)
    assert not await page.evaluate("window.__pcm.some((chunk) => chunk.some((sample) => Math.abs(sample) > 0.001))")


# Every text the enlarged student is shown by, at each paint, until told to stop.
WATCH = """
() => {
  window.__seen = new Set();
  const look = () => {
    const name = document.querySelector('#bay-title')?.textContent;
    const figure = document.querySelector('[data-testid=coach-figure]')?.textContent;
    const rep = document.querySelector('[data-testid=coach-verdict] strong')?.textContent ?? '';
    if (name && figure) window.__seen.add([name, figure === '–' ? '' : figure, rep].join('|'));
    requestAnimationFrame(look);
  };
  look();
}
"""


async def test_no_students_data_under_anothers_name(open_page: OpenPage, feed: Feed) -> None:
    """Three students with figures of their own, and a coach who cannot make up his mind."""
    page = await open_coach(open_page, feed, *(coach_samples.bay(i) for i in range(3)))
    expected = {}
    for i, (slug, name, *_) in enumerate(coach_samples.NAMES[:3]):
        own = feed.bays[slug]
        own.hello = coach_samples.hello(i, reps=[samples.rep(10 * i + 1)])
        own.now = samples.frame(phase=Phase.ARM_LEVEL, bend_change_deg=-10.0 - i)
        expected[name] = ({"", f"−{10 + i}°"}, {"", f"Rep {10 * i + 1}:"})
    await page.evaluate(WATCH)
    for n in range(12):
        await page.evaluate("(slug) => { location.hash = '#coach/' + slug }", coach_samples.NAMES[n % 3][0])
        await asyncio.sleep(0.01 * (n % 5))
    await page.evaluate("location.hash = '#coach/long'")
    await expect(page.get_by_test_id("coach-figure")).to_have_text("−12°")
    seen = [one.split("|") for one in await page.evaluate("[...window.__seen]")]
    assert seen
    for name, figure, rep in seen:
        figures, reps = expected[name]
        assert figure in figures, seen
        assert rep in reps, seen
    for slug in ("mara-voss", "tom-okafor"):
        assert feed.bays[slug].n_open == 0, "a student who is no longer enlarged is still listened to"
    assert feed.bays["long"].n_open == 1


async def test_another_students_data_is_not_shown(open_page: OpenPage, feed: Feed) -> None:
    page = await open_coach(open_page, feed, coach_samples.bay(0), coach_samples.bay(1))
    feed.bays["mara-voss"].hello = coach_samples.hello(1)
    await page.get_by_role("link", name="Mara Voss").click()
    await expect(page.get_by_test_id("wrong-student")).to_be_visible()
    await expect(page.get_by_test_id("coach-figure")).to_have_count(0)


async def test_a_student_who_is_gone_is_said_to_be(open_page: OpenPage, feed: Feed) -> None:
    page = await open_coach(open_page, feed, coach_samples.bay(0), coach_samples.bay(1), at="mara-voss")
    await expect(page.get_by_test_id("enlarged")).to_be_visible()
    await feed.board.show(coach_samples.bay(1), coach_samples.bay(2))
    await expect(page.get_by_test_id("no-such")).to_be_visible()
    await page.go_back()


async def test_a_test_under_way_is_the_students(open_page: OpenPage, feed: Feed) -> None:
    page = await open_coach(open_page, feed, coach_samples.bay(0), at="mara-voss")
    await expect(page.get_by_test_id("enlarged")).to_be_visible()
    feed.bays["mara-voss"].hello = coach_samples.hello(0, course=samples.course(block=3))
    await feed.bays["mara-voss"].drop()
    await expect(page.get_by_test_id("coach-test")).to_contain_text("counts as help", timeout=10_000)


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
    assert len(scripts) == 1, scripts
    assert feed.board.n_connections == 0
