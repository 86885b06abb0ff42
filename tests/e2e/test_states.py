"""Nothing yet, nothing fresh, nobody there, nonsense: the page says so, shows no stale figure, and lives."""

from __future__ import annotations

import asyncio
import json

import pytest
from playwright.async_api import Page, expect

from sensors.events import LinkReason, LinkState
from sensors.ids import PAIR, Role
from server.advice import link_advice
from server.joining.door import SENT_AWAY, SENT_AWAY_REASON
from server.wire import CueMessage, EndMessage, ProblemMessage, SensorsMessage, SensorView
from server.wire_fit import FitView
from tests.e2e import samples
from tests.e2e.browser import SCREENS, TABLET
from tests.e2e.conftest import OpenPage
from tests.e2e.feed import PATIENCE_S, Feed
from tests.e2e.shots import shoot
from tests.e2e.test_accessibility import violations
from tests.e2e.test_fit import LIVE
from tests.e2e.test_layout import CLIPPED


async def expect_blank(page: Page) -> None:
    for gauge in ("bend", "pitch"):
        await expect(page.get_by_test_id(f"{gauge}-figure")).to_have_text("\u2013")
        await expect(page.get_by_test_id(f"{gauge}-word")).to_have_text("")
    await expect(page.locator("[aria-current=step]")).to_have_count(0)


async def test_before_the_first_reading(open_page: OpenPage, feed: Feed) -> None:
    feed.now = None
    feed.hello = samples.hello(sensors=[])
    page = await open_page()
    await expect(page.get_by_test_id("status")).to_have_text("Waiting")
    await expect(page.get_by_test_id("headline")).to_contain_text("has not come to the first reading")
    await expect(page.get_by_text("No sensor has reported yet.")).to_be_visible()
    await expect_blank(page)


async def test_an_old_frame_in_the_hello_is_not_shown(open_page: OpenPage, feed: Feed) -> None:
    feed.now = None
    feed.hello = samples.hello(frame=samples.frame(**samples.CUPPED))
    page = await open_page()
    await expect(page.get_by_test_id("status")).to_have_text("Waiting")
    await expect_blank(page)


async def test_without_a_fresh_frame_the_figures_are_blanked(open_page: OpenPage, feed: Feed) -> None:
    page = await open_page()
    await feed.show(**samples.CUPPED)
    await expect(page.get_by_test_id("bend-figure")).to_have_text("\u221217°")
    feed.now = None
    await expect(page.get_by_test_id("status")).to_have_text("No fresh data")
    await expect(page.get_by_test_id("headline")).to_contain_text("For over a second the recording has no reading")
    await expect_blank(page)
    await feed.show(**samples.INSIDE)
    await expect(page.get_by_test_id("bend-figure")).to_have_text("3°")
    await expect(page.get_by_test_id("status")).to_have_text("Demo")


async def test_a_lost_server_is_told_and_found_again(open_page: OpenPage, feed: Feed) -> None:
    page = await open_page()
    await expect(page.get_by_test_id("bend-figure")).to_have_text("0°")
    feed.refuses = True
    await feed.drop()
    await expect(page.get_by_test_id("status")).to_have_text("Server gone")
    await expect_blank(page)
    await page.wait_for_function("window.__pitchbend.counts().attempts >= 3")
    feed.refuses = False
    await expect(page.get_by_test_id("bend-figure")).to_have_text("0°")
    await expect(page.get_by_test_id("status")).to_have_text("Demo")


@pytest.mark.parametrize("stand", [False, True])
async def test_who_is_sent_away_is_told_and_does_not_knock_again(
    open_page: OpenPage, feed: Feed, *, stand: bool
) -> None:
    page = await open_page(stand=stand)
    await page.get_by_test_id("sound").click()
    await feed.show(**samples.CUPPED)
    await feed.send(CueMessage(t_s=1.0, sounding=True, error_deg=-9.0))
    await expect(page.get_by_test_id("sound")).to_have_text("Sounding")
    before = await page.evaluate("window.__pitchbend.counts().attempts")
    await feed.drop(SENT_AWAY, SENT_AWAY_REASON)
    await expect(page.get_by_test_id("stand-notice" if stand else "headline")).to_contain_text(
        "ask them for a new link"
    )
    await expect(page.get_by_text("You are out")).to_be_visible()
    await expect(page.get_by_test_id("sound")).to_have_text("Sound on")
    await shoot(page, f"sent-away-{'stand' if stand else 'whole'}")
    assert await violations(page) == []
    await page.evaluate("window.dispatchEvent(new Event('online'))")
    await page.wait_for_timeout(1_500)  # the first pause of a link that is only lost is at most 0.5 s
    assert await page.evaluate("window.__pitchbend.counts().attempts") == before


async def test_the_end_of_a_recording_is_no_alarm(open_page: OpenPage, feed: Feed) -> None:
    page = await open_page()
    await expect(page.get_by_test_id("bend-figure")).to_have_text("0°")
    feed.now = None
    await feed.send(EndMessage(again=False))
    await expect(page.get_by_test_id("status")).to_have_text("Ended")
    await expect(page.get_by_test_id("headline")).to_have_text("The recording has ended.")
    await expect_blank(page)


def spoilt(**changes: object) -> str:
    """A frame as it must not come; Python's JSON writes NaN and Infinity where the standard has none."""
    return json.dumps(samples.frame(seq=9, **samples.CUPPED).model_dump(mode="json") | changes)


@pytest.mark.parametrize(
    "text",
    [
        spoilt(bend_change_deg=float("nan")),
        spoilt(bend_change_deg=float("inf")),
        spoilt(bend_change_deg=-17.0).replace("-17.0", "-1e999"),
        spoilt(phase="sideways"),
        spoilt(sounding="yes"),
        spoilt(seq=1.5),
        '{"type": "frame"}',
        '{"type": 7}',
        "[]",
        "null",
        "not even JSON {",
        "",
    ],
)
async def test_a_malformed_message_is_counted_and_left_out(open_page: OpenPage, feed: Feed, text: str) -> None:
    page = await open_page()
    await expect(page.get_by_test_id("bend-figure")).to_have_text("0°")
    await feed.raw(text)
    await expect(page.get_by_test_id("malformed")).to_have_text(
        "1 message from the server could not be read and was left out."
    )
    await feed.show(**samples.INSIDE)
    await expect(page.get_by_test_id("bend-figure")).to_have_text("3°")
    assert await page.evaluate("window.__pitchbend.cueTrace().length") == 0


async def test_unknown_messages_and_unknown_fields_are_let_pass(open_page: OpenPage, feed: Feed) -> None:
    page = await open_page()
    await expect(page.get_by_test_id("bend-figure")).to_have_text("0°")
    await feed.raw('{"type": "weather", "wind_m_s": 3}')
    await feed.raw('{"type": "toString"}')
    await feed.raw(json.dumps(samples.rep(4).model_dump(mode="json") | {"added_later": [1, 2]}))
    await expect(page.get_by_test_id("verdict")).to_contain_text("Rep 4")
    await expect(page.get_by_test_id("unknown")).to_contain_text("2 messages of a kind")
    await expect(page.get_by_test_id("malformed")).to_have_count(0)


async def test_a_problem_is_shown_once_and_can_be_dismissed(open_page: OpenPage, feed: Feed) -> None:
    page = await open_page()
    problem = ProblemMessage(code="disk_full", text="The disk of your computer is full: this practice is not recorded.")
    await expect(page.get_by_test_id("bend-figure")).to_have_text("0°")
    await feed.send(problem)
    await feed.send(problem)
    shown = page.get_by_text(problem.text)
    await expect(shown).to_have_count(1)
    await page.get_by_role("button", name="Dismiss").click()
    await expect(shown).to_have_count(0)


async def test_each_sensors_health_is_told_in_words(open_page: OpenPage, feed: Feed) -> None:
    page = await open_page()
    forearm, club = page.get_by_test_id("sensor-forearm"), page.get_by_test_id("sensor-club")
    await expect(forearm).to_contain_text("sending")
    await expect(forearm).to_contain_text("200 a second")
    await expect(forearm).to_contain_text("0.3 % lost")
    await expect(club).to_contain_text("battery 61 %")
    advice = "The club sensor's link dropped. Bring it within a few metres; it is being looked for."
    lost = samples.sensor(
        Role.CLUB, state=LinkState.LOST, reason=LinkReason.DROPPED, rate_hz=0.0, battery_pct=None, advice=advice
    )
    await feed.send(SensorsMessage(sensors=[samples.sensor(Role.FOREARM), lost]))
    await expect(club).to_contain_text("link lost")
    await expect(club).to_contain_text(advice)
    await expect(club).to_contain_text("battery not known")


def unheard(**reasons: LinkReason) -> SensorsMessage:
    """The pair, of which some are looked for."""

    def one(role: Role) -> SensorView:
        reason = reasons.get(role)
        if reason is None:
            return samples.sensor(role)
        advice = link_advice(LinkState.SEARCHING, reason)
        return samples.sensor(role, state=LinkState.SEARCHING, reason=reason, rate_hz=0.0, advice=advice)

    return SensorsMessage(sensors=[one(role) for role in PAIR])


@pytest.mark.parametrize("stand", [False, True])
async def test_why_a_sensor_is_not_heard_is_told_on_top_and_once_for_both(
    open_page: OpenPage, feed: Feed, *, stand: bool
) -> None:
    feed.hello = samples.hello(source=LIVE, fit=FitView(complete=True, taken=[]), reps=[samples.rep(1)])
    page = await open_page(stand=stand)
    notice = page.get_by_test_id("stand-notice" if stand else "headline")
    far = unheard(club=LinkReason.OUT_OF_RANGE)
    both = unheard(forearm=LinkReason.CONNECT_FAILED, club=LinkReason.OUT_OF_RANGE)
    off = unheard(forearm=LinkReason.ADAPTER_OFF, club=LinkReason.ADAPTER_OFF)
    await feed.send(far)
    await expect(notice).to_have_text(f"Club: {far.sensors[1].advice}")
    assert await violations(page) == []
    for told in (far, both):
        await feed.send(told)
        await expect(notice).to_contain_text(told.sensors[told is far].advice)
        for name, size in SCREENS.items():
            await page.set_viewport_size(size)
            await shoot(page, f"unheard-{'far' if told is far else 'both'}-{'stand' if stand else 'whole'}-{name}")
            assert await page.evaluate(CLIPPED) == []
            if stand:  # nothing but the sentences, which the reps and the sound's button do not cover
                box, reps = await notice.bounding_box(), await page.locator(".reps").bounding_box()
                assert box is not None
                assert reps is not None
                assert box["y"] + box["height"] <= reps["y"] + 1
                await expect(page.locator(".reading, .picture")).to_have_count(0)
    await feed.send(off)
    await expect(notice).to_have_text(off.sensors[0].advice)
    await feed.send(unheard(forearm=LinkReason.NOT_FOUND, club=LinkReason.NOT_FOUND))
    await expect(notice).to_contain_text("Forearm and club: The sensor is not in sight.")
    await feed.send(off)
    feed.now = None  # that nothing comes says less
    await expect(page.get_by_text("No fresh data")).to_be_visible()
    await expect(notice).to_have_text(off.sensors[0].advice)
    await feed.send(unheard())
    await expect(notice).not_to_contain_text("Bluetooth")


async def test_the_page_acknowledges_what_it_handled(open_page: OpenPage, feed: Feed) -> None:
    page = await open_page()
    await page.wait_for_function("window.__pitchbend.counts().received > 20")
    async with asyncio.timeout(PATIENCE_S):
        while feed.acked_seq <= 0:
            await asyncio.sleep(0.02)
    assert await page.evaluate("window.__pitchbend.counts().skipped") == 0


async def test_the_page_works_under_its_own_security_policy(open_page: OpenPage, feed: Feed) -> None:
    page = await open_page(guarded=True)
    await expect(page.get_by_test_id("bend-figure")).to_have_text("0°")
    await page.get_by_test_id("sound").click()
    await expect(page.get_by_test_id("sound")).to_have_text("Sound on")


async def test_forbidden_storage_is_survived(open_page: OpenPage, feed: Feed) -> None:
    page = await open_page(viewport=TABLET, cautions_read=False)
    await page.add_init_script("Object.defineProperty(window, 'localStorage', { get() { throw new Error('denied') } })")
    await page.reload()
    await page.get_by_role("button", name="I have read this").click()
    await page.get_by_role("button", name="Evening").click()
    await expect(page.locator("html")).to_have_attribute("data-theme", "evening")
    await expect(page.get_by_test_id("bend-figure")).to_have_text("0°")


async def test_cautions_come_first_until_read_and_stay_at_hand(open_page: OpenPage, feed: Feed) -> None:
    page = await open_page(cautions_read=False)
    caution = page.get_by_text("children above all")
    await expect(caution).to_be_visible()
    await page.get_by_role("button", name="I have read this").click()
    await expect(caution).to_be_hidden()
    await page.reload()
    await expect(caution).to_be_hidden()
    await page.get_by_text("Before you swing").click()
    await expect(caution).to_be_visible()


async def test_loss_that_cannot_be_seen_is_unknown_not_none(open_page: OpenPage, feed: Feed) -> None:
    blind = samples.sensor(Role.CLUB, n_lost=None)  # its packets have neither counter nor clock
    feed.hello = samples.hello(sensors=[samples.sensor(Role.FOREARM, n_lost=0), blind])
    page = await open_page()
    await expect(page.get_by_test_id("sensor-club")).to_contain_text("loss unknown")
    await expect(page.get_by_test_id("sensor-forearm")).to_contain_text("none lost")
    for name, width, height in (("phone", 390, 844), ("tablet", 1024, 768)):
        await page.set_viewport_size({"width": width, "height": height})
        await shoot(page, f"loss-unknown-{name}", full_page=True)
