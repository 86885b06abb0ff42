"""The set-up on a phone: what is asked the first time, what is left out later, and what the golfer hears meanwhile."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from playwright.async_api import Page, expect

from fusion.outputs.fit import FitReason, FitState
from fusion.outputs.instant import Phase
from sensors.ids import Move, Role, Side
from server.wire import PlayerView, SensorsMessage, SourceView
from server.wire_choosing import ChoosingMessage
from server.wire_fit import FitMessage, FitView
from tests.e2e import samples
from tests.e2e.browser import PHONE, PHONE_SIDEWAYS, TABLET
from tests.e2e.conftest import OpenPage
from tests.e2e.feed import Feed
from tests.e2e.shots import shoot
from tests.e2e.sound import Sound, hush, sounded
from tests.e2e.test_accessibility import violations
from tests.e2e.test_fit import news
from tests.e2e.test_layout import CLIPPED

LIVE = SourceView(kind="live", name="built-in radio", speed=1.0)
SIZES = {"phone": PHONE, "phone-sideways": PHONE_SIDEWAYS, "tablet": TABLET}
MOVES = [Move.NEUTRAL, Move.ROLL, Move.TWIRL, Move.LOCKED, Move.PALM, Move.ADDRESS]
HELD = (Move.STILL, Move.ATTITUDE, Move.NEUTRAL, Move.PALM, Move.ADDRESS)
NEW = "It has not been calibrated yet."
KNOWN = """
for (const [name, value] of Object.entries({'worn-seen': 'yes', 'swung-before': 'yes', club: '7 iron', drill: 'b'})) {
  try { localStorage.setItem('pitchbend.' + name, value) } catch {}
}
"""
STAND = "try { localStorage.setItem('pitchbend.view', 'stand') } catch {}"
SAID = """
window.__said = [];
window.speechSynthesis.speak = (line) => { window.__said.push(line.text); };
"""


def unfitted(**changes: Any) -> Any:
    sensors = [samples.sensor(Role.FOREARM), samples.sensor(Role.CLUB)]
    who = PlayerView(name="Mara Voss", lead_side=Side.LEFT, club="")
    fit = FitView(complete=False, taken=[])
    return samples.hello(
        **{"source": LIVE, "fit": fit, "sensors": sensors, "player": who, "drills": samples.choices()} | changes
    )


async def on_step(page: Page, step: str) -> None:
    await expect(page.get_by_test_id("setup")).to_have_attribute("data-step", step)


async def whole(page: Page, name: str) -> None:
    """Take a picture; nothing is clipped, nothing overflows, and axe finds nothing."""
    await shoot(page, name, full_page=True)
    assert await page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    assert await page.evaluate(CLIPPED) == []
    assert await violations(page) == []


async def set_up_page(open_page: OpenPage, *scripts: str, **options: Any) -> Page:
    page = await open_page(stand=True, **options)
    for script in (STAND, *scripts):
        await page.add_init_script(script)
    await page.reload()
    return page


async def make_moves(page: Page, feed: Feed, moves: list[Move], *, hurry: bool = True) -> None:
    """Take each move as the page asks for it."""
    taken: list[Move] = []
    for move in moves:
        await expect(page.get_by_test_id("guide")).to_have_attribute("data-move", move.value)
        if hurry:
            await page.get_by_role("button", name="I am ready now").click()
        assert (await feed.asked()).move == move
        taken = [*taken, move]
        await feed.send(news(move, FitState.COLLECTING, taken[:-1], "Hold still."))
        complete = set(taken) >= set(MOVES)
        await feed.send(news(move, FitState.TAKEN, taken, "Taken.", fit=FitView(complete=complete, taken=taken)))


@pytest.mark.parametrize("screen", list(SIZES))
async def test_the_first_time_leads_from_the_cautions_to_the_first_swing(
    open_page: OpenPage, feed: Feed, screen: str
) -> None:
    taps = 0
    due = [samples.sensor(role, trim_due=NEW) for role in (Role.FOREARM, Role.CLUB)]
    feed.hello = unfitted(sensors=due, choosing=samples.choosing(samples.candidate("A"), samples.candidate("B")))
    page = await set_up_page(open_page, cautions_read=False, viewport=SIZES[screen])

    async def tap(name: str) -> None:
        nonlocal taps
        taps += 1
        await page.get_by_role("button", name=name, exact=True).click()

    await on_step(page, "cautions")
    await whole(page, f"setup-1-cautions-{screen}")
    await tap("I have read this")
    await on_step(page, "pair")
    await whole(page, f"setup-2-pair-{screen}")
    await feed.send(ChoosingMessage(choosing=samples.choosing().model_copy(update={"open": False})))
    await on_step(page, "trim")
    await whole(page, f"setup-3-trim-{screen}")
    await tap("Leave it out this time")
    await tap("Begin")
    await make_moves(page, feed, [Move.STILL])
    await on_step(page, "club")
    await whole(page, f"setup-4-club-{screen}")
    await tap("7 iron")
    assert (await feed.asked()).club == "7 iron"
    await on_step(page, "drill")
    await whole(page, f"setup-5-drill-{screen}")
    await page.get_by_role("button", name="Lay the shaft down").click()
    assert (await feed.asked()).id == "b"
    await on_step(page, "wear")
    await whole(page, f"setup-6-wear-{screen}")
    if screen == "phone":
        await shoot(page, "setup-wear", published=True)
    await tap("Both sit firmly")
    await on_step(page, "fit")
    await whole(page, f"setup-7-fit-{screen}")
    await page.evaluate("scrollTo(0, 0)")  # without scrolling all of it lies above the sound's button
    box = await page.get_by_test_id("begin").bounding_box()
    assert box is not None
    edge = [box["x"] + box["width"] / 2, box["y"] + box["height"] - 4]
    assert await page.evaluate("([x, y]) => document.elementFromPoint(x, y)?.dataset.testid", edge) == "begin"
    await tap("Begin")
    await expect(page.get_by_test_id("guide")).to_have_attribute("data-state", "lead")
    await whole(page, f"setup-8-move-{screen}")
    feed.now = samples.frame(phase=Phase.IDLE, bend_change_deg=None, bend_deg=None, shaft_pitch_deg=None)
    await make_moves(page, feed, MOVES)
    await on_step(page, "address")
    await whole(page, f"setup-9-address-{screen}")
    await feed.show(phase=Phase.ADDRESS, shaft_pitch_deg=57.0, bend_deg=-12.0)
    await expect(page.get_by_test_id("stand-notice")).to_contain_text("Ready. Stand to the ball")
    await feed.send(samples.unjudged_rep(1))
    await expect(page.get_by_test_id("stand-notice")).to_contain_text("could not be measured. Samples were lost")
    await feed.send(samples.rep(2))
    await expect(page.get_by_test_id("stand-notice")).to_have_text("")
    assert taps == 6  # and one on the drill, and three for the places of two sensors


async def test_later_one_tap_leads_to_the_first_swing(open_page: OpenPage, feed: Feed) -> None:
    """Known: where they are worn, their calibration, club and drill. Without a further tap, at the page's own pace."""
    feed.hello = unfitted()
    page = await set_up_page(open_page, KNOWN, SAID)
    await on_step(page, "fit")
    assert {(await feed.asked()).type, (await feed.asked()).type} == {"club", "drill"}
    await whole(page, "setup-later")
    await page.get_by_test_id("begin").click()
    await make_moves(page, feed, MOVES, hurry=False)
    await expect(page.get_by_test_id("stand-notice")).to_contain_text("Ready. Stand to the ball")
    said = await page.evaluate("window.__said")
    assert said[:2] == ["Wrist straight", "Roll the forearm"]
    assert said[-1] == "Stand to the ball and be still."


async def test_who_is_remembered_makes_few_moves_and_may_make_them_all(open_page: OpenPage, feed: Feed) -> None:
    few = [Move.PALM, Move.TWIRL, Move.NEUTRAL, Move.ROLL, Move.ADDRESS]
    feed.hello = unfitted(fit=FitView(complete=False, taken=[], known=True, due=few))
    page = await set_up_page(open_page, KNOWN)
    await expect(page.get_by_text("You are remembered")).to_be_visible()
    await whole(page, "setup-remembered")
    await page.get_by_test_id("begin").click()
    await expect(page.get_by_test_id("guide")).to_have_attribute("data-move", "palm")
    await page.reload()
    await page.get_by_role("button", name="Do all the moves").click()
    await expect(page.get_by_text("You are remembered")).not_to_be_visible()
    await page.get_by_test_id("begin").click()
    await expect(page.get_by_test_id("guide")).to_have_attribute("data-move", "neutral")


async def test_a_left_handed_player_sees_the_mirror_image(open_page: OpenPage, feed: Feed) -> None:
    left = PlayerView(name="Ines Krug", lead_side=Side.RIGHT, club="5 iron")
    feed.hello = unfitted(player=left, drills=[])
    page = await set_up_page(open_page)
    await on_step(page, "wear")
    await expect(page.get_by_test_id("wear-right")).to_have_accessible_name(
        "The right forearm and hand on a club: one sensor on the back of the forearm above the wrist, "
        "one on the grip below the hand"
    )
    await expect(page.get_by_text("On the back of the right forearm")).to_be_visible()
    await whole(page, "setup-wear-mirrored")


async def test_a_refused_move_is_said_with_its_reason_and_begun_again(open_page: OpenPage, feed: Feed) -> None:
    feed.hello = unfitted()
    page = await set_up_page(open_page, KNOWN, SAID)
    await feed.asked()
    await feed.asked()
    await page.get_by_test_id("begin").click()
    await page.get_by_role("button", name="I am ready now").click()
    assert (await feed.asked()).move == Move.NEUTRAL
    bad = news(Move.NEUTRAL, FitState.REJECTED, [], "There was no still second.", reason=FitReason.MOVING)
    await feed.send(bad)
    await expect(page.get_by_test_id("guide")).to_have_attribute("data-state", "lead")
    await expect(page.get_by_test_id("guide")).to_contain_text("There was no still second.")
    said = await page.evaluate("window.__said")
    assert said[-1] == "There was no still second. Wrist straight."  # in one, or the second would cut the first off
    await whole(page, "setup-again")
    assert (await feed.asked()).move == Move.NEUTRAL  # by itself


async def test_without_data_a_move_does_not_begin(open_page: OpenPage, feed: Feed) -> None:
    feed.hello = unfitted()
    page = await set_up_page(open_page, KNOWN)
    await feed.asked()
    await feed.asked()
    await page.get_by_test_id("begin").click()
    feed.now = None
    await expect(page.get_by_text("No reading at this moment.")).to_be_visible()
    await expect(page.get_by_test_id("guide")).to_contain_text("Now")
    assert feed.heard.empty()


@pytest.mark.parametrize(
    ("shown", "said"),
    [
        ({"shaft_pitch_deg": 86.0}, "too upright"),
        ({"shaft_pitch_deg": 21.0}, "too flat"),
        ({"bend_deg": -71.0}, "far too cupped"),
        ({"bend_deg": 44.0}, "far too bowed"),
    ],
)
async def test_an_implausible_address_is_told_and_can_be_passed_over(
    open_page: OpenPage, feed: Feed, shown: dict[str, float], said: str
) -> None:
    feed.hello = unfitted(fit=FitView(complete=True, taken=MOVES))
    feed.now = samples.frame(**shown)
    page = await set_up_page(open_page, KNOWN, SAID)
    await on_step(page, "address")
    await expect(page.get_by_test_id("address-says")).to_contain_text(said)
    assert await violations(page) == []
    await page.get_by_role("button", name="Go on without this").click()
    await expect(page.get_by_test_id("stand-figure")).to_be_visible()


async def test_calibrating_goes_through_six_sides_and_ends_when_the_server_has_enough(
    open_page: OpenPage, feed: Feed
) -> None:
    due = [samples.sensor(role, trim_due=NEW) for role in (Role.FOREARM, Role.CLUB)]
    feed.hello = unfitted(sensors=due)
    page = await set_up_page(open_page, KNOWN)
    await on_step(page, "trim")
    await feed.asked()
    await feed.asked()
    await page.get_by_role("button", name="Calibrate now").click()
    await page.get_by_test_id("begin").click()
    for move in [Move.STILL, *[Move.ATTITUDE] * 6]:
        await expect(page.get_by_test_id("guide")).to_have_attribute("data-move", move.value)
        await page.get_by_role("button", name="I am ready now").click()
        assert (await feed.asked()).move == move
        await feed.send(news(move, FitState.TAKEN, [Move.STILL], "Taken.", fit=FitView(complete=False, taken=[])))
    await expect(page.get_by_text("6 of 6 sides")).to_be_visible()
    await feed.send(SensorsMessage(sensors=[samples.sensor(Role.FOREARM), samples.sensor(Role.CLUB)]))
    await on_step(page, "fit")


async def test_a_fit_that_became_void_is_asked_for_again(open_page: OpenPage, feed: Feed) -> None:
    feed.hello = unfitted(reps=[samples.rep(1)], fit=FitView(complete=True, taken=MOVES))
    page = await set_up_page(open_page, KNOWN)
    await expect(page.get_by_test_id("stand-figure")).to_be_visible()
    void = FitMessage(
        move=Move.ADDRESS,
        state=FitState.REJECTED,
        reason=FitReason.DISAGREES,
        measured=None,
        limit=None,
        advice="",
        fit=FitView(complete=False, taken=[]),
    )
    await feed.send(void)
    await on_step(page, "fit")


def notes(sound: Sound) -> list[float]:
    """Lengths in seconds of the stretches that sound, from the envelope over 10 ms."""
    step = int(0.01 * sound.rate_hz)
    n = len(sound.samples) // step
    loud = np.abs(sound.samples[: n * step]).reshape(n, step).max(axis=1) > 0.02
    edges = np.flatnonzero(np.diff(np.r_[0, loud.astype(int), 0]))
    return [0.01 * float(end - start) for start, end in zip(edges[::2], edges[1::2], strict=True)]


async def test_the_signals_differ_in_number_and_length_of_their_notes(open_page: OpenPage, feed: Feed) -> None:
    """Heard, not scheduled: begin two short, hold one long, taken three quick, again two long."""
    feed.hello = unfitted()
    page = await set_up_page(open_page, KNOWN, hears=True)
    await feed.asked()
    await feed.asked()
    await page.get_by_test_id("begin").click()
    await hush(page)
    await page.get_by_role("button", name="I am ready now").click()
    assert (await feed.asked()).move == Move.NEUTRAL
    (hold,) = notes(await sounded(page))
    await hush(page)
    await feed.send(news(Move.NEUTRAL, FitState.REJECTED, [], "Once more.", reason=FitReason.MOVING))
    again = notes(await sounded(page))
    await page.get_by_role("button", name="I am ready now").click()
    await feed.asked()
    await sounded(page)
    await hush(page)
    fit = FitView(complete=False, taken=[Move.NEUTRAL])
    await feed.send(news(Move.NEUTRAL, FitState.TAKEN, [], "Taken.", fit=fit))
    taken = notes(await sounded(page))
    await hush(page)
    await page.get_by_role("button", name="I am ready now").click()
    assert (await feed.asked()).move == Move.ROLL
    begin = notes(await sounded(page))
    assert 0.5 < hold < 0.8
    assert len(again) == 2
    assert min(again) > 0.25
    assert len(taken) == 3
    assert max(taken) < 0.14
    assert len(begin) == 2
    assert max(begin) < 0.16
