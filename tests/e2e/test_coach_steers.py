"""What a coach does to a practice: takes control, moves the band, chooses a second drill, says and notes something."""

from __future__ import annotations

from playwright.async_api import expect

from fusion.drills.quantity import Quantity
from server.wire import DrillMessage, ProblemMessage
from server.wire_client import BandMessage, SecondMessage
from server.wire_lesson import ControlAskMessage, ControlMessage, NoteMessage, SaidMessage, SayMessage, WriteNoteMessage
from tests.e2e import coach_samples, samples
from tests.e2e.coach_page import open_coach
from tests.e2e.conftest import OpenPage
from tests.e2e.feed import Feed


async def test_control_is_taken_and_given_back_in_the_open(open_page: OpenPage, feed: Feed) -> None:
    page = await open_coach(open_page, feed, coach_samples.bay(0))
    mara = feed.bays["mara-voss"]
    await expect(page.get_by_test_id("holder")).to_have_text("The student steers")
    drill = page.get_by_role("button", name="Lay the shaft down")
    await expect(drill).to_be_disabled()
    await expect(page.get_by_test_id("locked")).to_contain_text("Take control")
    await page.get_by_role("button", name="Take control").click()
    assert await mara.asked() == ControlAskMessage(hold=True)
    # It is taken when the server says so, not before.
    await expect(drill).to_be_disabled()
    await mara.send(ControlMessage(holder="coach", reason="asked", by="coach"))
    await expect(page.get_by_test_id("holder")).to_have_text("You steer")
    await drill.click()
    message = await mara.asked()
    assert message.type == "drill"  # type: ignore[attr-defined]
    await page.get_by_role("button", name="Look-ahead: more").click()
    ahead = await mara.asked()
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
    assert await mara.asked() == BandMessage(low=-5.0, high=14.0)  # three taps, one change
    await mara.send(ProblemMessage(code="drill_refused", text="The practice is over."))
    await expect(page.get_by_test_id("band-low")).to_have_text("−8°")
    narrow = samples.drill(low=-1.0, high=4.0, low_deg=-1.0, high_deg=4.0, least_band=4.2)
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
    assert await mara.asked() == SecondMessage(id="b")
    await expect(second).to_have_value("")
    asked_for = samples.drill(name="Lay the shaft down", quantity=Quantity.SHAFT_PITCH)
    await mara.send(DrillMessage(drill=samples.drill(), course=None, second=asked_for))
    await expect(second).to_have_value("b")
    await second.select_option("none")
    assert await mara.asked() == SecondMessage(id=None)


async def test_notes_and_lines_to_the_student(open_page: OpenPage, feed: Feed) -> None:
    page = await open_coach(open_page, feed, coach_samples.bay(0))
    mara = feed.bays["mara-voss"]
    await expect(page.get_by_test_id("coach-figure")).to_have_text("0°")
    await mara.send(samples.rep(7))
    await page.get_by_role("button", name="Slower going back.").click()
    assert await mara.asked() == SayMessage(text="Slower going back.")
    await mara.send(SaidMessage(id=1, t_s=5.0, text="Slower going back.", by="coach"))
    await expect(page.get_by_test_id("said")).to_have_text("Last sent: Slower going back.")
    await page.get_by_label("In your own words").fill("  Hold it at the top.  ")
    await page.keyboard.press("Enter")
    assert await mara.asked() == SayMessage(text="Hold it at the top.")
    await page.get_by_label("About").select_option("rep 7")
    await page.get_by_label("Note", exact=True).fill("Elbow behind again.")
    await page.get_by_role("button", name="Keep").click()
    assert await mara.asked() == WriteNoteMessage(text="Elbow behind again.", rep=7)
    await mara.send(NoteMessage(id=1, t_s=6.0, text="Elbow behind again.", rep=7))
    await expect(page.get_by_test_id("notes")).to_have_text("Rep 7: Elbow behind again.")
    await mara.send(ProblemMessage(code="too_fast", text="That was too many at once."))
    await expect(page.get_by_role("log")).to_contain_text("That was too many at once.")
