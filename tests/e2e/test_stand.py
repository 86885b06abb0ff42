"""The page of a phone on a stand: one large figure, the last reps, pause, sound, and a screen that stays on."""

from __future__ import annotations

import pytest
from playwright.async_api import Page, expect

from fusion.drills.quantity import Quantity
from fusion.outputs.instant import Phase
from server.wire import DrillMessage, ProblemMessage, SourceView
from server.wire_client import PauseMessage
from tests.e2e import samples
from tests.e2e.browser import PHONE, PHONE_SIDEWAYS, TABLET
from tests.e2e.conftest import OpenPage
from tests.e2e.feed import Feed
from tests.e2e.shots import shoot
from tests.e2e.test_accessibility import violations
from tests.e2e.test_layout import CLIPPED, TOUCHES_EDGE

SIZES = {"phone": PHONE, "phone-sideways": PHONE_SIDEWAYS, "tablet": TABLET}
PUBLISHED = {("phone", "light"), ("phone-sideways", "light")}
DIGIT_SHARE = 0.25
"""Of the phone's short side; docs/student.md has the visual angle that it comes to."""

# Height of a digit as it is drawn, in CSS pixels.
DIGIT_HEIGHT = """
(element) => {
  const style = getComputedStyle(element);
  const pen = document.createElement('canvas').getContext('2d');
  pen.font = `${style.fontWeight} ${style.fontSize} ${style.fontFamily}`;
  const drawn = pen.measureText('8');
  return drawn.actualBoundingBoxAscent + drawn.actualBoundingBoxDescent;
}
"""


async def painted(page: Page) -> None:
    await page.evaluate("() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))")


async def on_stand(open_page: OpenPage, screen: dict[str, int], **context: object) -> Page:
    page = await open_page(stand=True, viewport=screen, **context)
    if screen is TABLET:
        await page.get_by_test_id("stand").click()
    await expect(page.get_by_test_id("stand-figure")).to_be_visible()
    return page


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("screen", list(SIZES))
async def test_it_is_whole_and_large(open_page: OpenPage, feed: Feed, screen: str, scheme: str) -> None:
    reps = [*samples.reps(), samples.rep(31, cued=False), samples.good_rep(32).model_copy(update={"cued": False})]
    feed.hello = samples.hello(reps=reps, course=samples.course())
    feed.now = samples.frame(**samples.CUPPED)
    page = await on_stand(open_page, SIZES[screen], color_scheme=scheme)
    await expect(page.get_by_test_id("stand-figure")).to_have_text("\u221217°")
    await expect(page.get_by_test_id("stand-word")).to_have_text("cupped")
    await expect(page.get_by_test_id("stand-past")).to_have_text("▼ 9° past")
    await painted(page)
    await shoot(page, f"stand-{screen}-{scheme}", published=(screen, scheme) in PUBLISHED)
    assert await page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    assert await page.evaluate("document.documentElement.scrollHeight <= innerHeight + 40")
    assert await page.evaluate(CLIPPED) == []
    assert await page.evaluate(TOUCHES_EDGE) == [False]
    digits = await page.get_by_test_id("stand-figure").evaluate(DIGIT_HEIGHT)
    assert digits >= DIGIT_SHARE * min(SIZES[screen].values())
    bar = await page.get_by_test_id("sound").bounding_box()
    assert bar is not None
    strip = await page.get_by_test_id("strip").bounding_box()
    notice = await page.get_by_test_id("stand-notice").bounding_box()
    assert strip is not None
    assert notice is not None
    assert strip["y"] + strip["height"] <= bar["y"]
    assert await page.get_by_role("heading", name="Wrist bend").evaluate("(e) => e.getBoundingClientRect().top") >= (
        notice["y"] + notice["height"]
    )
    for name in ("stand-figure", "stand-word", "stand-past"):
        box = await page.get_by_test_id(name).bounding_box()
        assert box is not None
        assert box["x"] + box["width"] <= SIZES[screen]["width"], name
        assert box["y"] + box["height"] <= strip["y"], name
    assert await violations(page) == []


@pytest.mark.parametrize("screen", list(SIZES))
async def test_the_longest_figures_fit(open_page: OpenPage, feed: Feed, screen: str) -> None:
    face = samples.drill(quantity=Quantity.FACE_TWIST, low_deg=-50.0, high_deg=10.0)
    pitch = samples.drill(quantity=Quantity.SHAFT_PITCH, low_deg=40.0, high_deg=88.0)
    for drill, shown in ((face, {"face_twist_deg": -138.0}), (pitch, {"shaft_pitch_deg": 104.0})):
        feed.hello = samples.hello(drill=drill)
        feed.now = samples.frame(**samples.ARM_LEVEL | shown | {"error_deg": 16.0})
        page = await on_stand(open_page, SIZES[screen])
        await expect(page.get_by_test_id("stand-past")).to_have_text("▲ 16° past")
        assert await page.evaluate(CLIPPED) == []
        for name in ("stand-figure", "stand-word", "stand-past"):
            box = await page.get_by_test_id(name).bounding_box()
            assert box is not None
            assert box["x"] + box["width"] <= SIZES[screen]["width"], (drill.quantity, name)


async def test_a_phone_begins_with_it_and_a_tap_leads_to_the_whole_page_and_back(
    open_page: OpenPage, feed: Feed
) -> None:
    page = await on_stand(open_page, PHONE)
    await page.get_by_test_id("whole").click()
    await expect(page.get_by_test_id("bend-figure")).to_be_visible()
    await page.reload()
    await expect(page.get_by_test_id("bend-figure")).to_be_visible()
    await page.get_by_test_id("stand").click()
    await expect(page.get_by_test_id("stand-figure")).to_be_visible()
    whole = await open_page(stand=True, viewport=TABLET)
    await expect(whole.get_by_test_id("bend-figure")).to_be_visible()


async def test_what_has_to_be_done_first_comes_first(open_page: OpenPage, feed: Feed) -> None:
    page = await open_page(stand=True, cautions_read=False)
    await page.get_by_role("button", name="I have read this").click()
    await expect(page.get_by_test_id("stand-figure")).to_be_visible()


async def test_between_swings_it_shows_the_worst_of_the_last_rep(open_page: OpenPage, feed: Feed) -> None:
    page = await on_stand(open_page, PHONE)
    await feed.send(samples.rep(1))
    await feed.show(phase=Phase.FINISH)
    await expect(page.get_by_role("heading", name="Rep 1, worst")).to_be_visible()
    await expect(page.get_by_test_id("stand-figure")).to_have_text("\u221217°")
    await expect(page.get_by_test_id("stand-past")).to_have_text("▼ 9° past")
    await feed.show(phase=Phase.ADDRESS)
    await expect(page.get_by_role("heading", name="Wrist bend")).to_be_visible()
    await expect(page.get_by_test_id("stand-figure")).to_have_text("0°")
    await feed.send(samples.unjudged_rep(2))
    await feed.show(phase=Phase.FINISH)
    await expect(page.get_by_test_id("stand-figure")).to_have_text("\u2013")


@pytest.mark.parametrize("screen", list(SIZES))
async def test_one_tap_pauses_and_says_so_hugely(open_page: OpenPage, feed: Feed, screen: str) -> None:
    feed.hello = samples.hello(reps=samples.reps()[:3], course=samples.course())
    page = await on_stand(open_page, SIZES[screen])
    await page.get_by_test_id("sound").click()
    await page.get_by_test_id("pause").click()
    assert await feed.asked() == PauseMessage(on=True)
    await feed.send(DrillMessage(drill=samples.drill(), course=samples.course(), paused=True))
    await expect(page.get_by_test_id("paused")).to_contain_text("PAUSED")
    await expect(page.get_by_test_id("sound")).to_have_text("Paused: silent")
    await expect(page.get_by_test_id("stand-figure")).to_have_count(0)
    await painted(page)
    await shoot(page, f"paused-{screen}")
    assert await page.evaluate(CLIPPED) == []
    assert await violations(page) == []
    before = await page.get_by_test_id("strip").locator("li").count()
    await feed.send(samples.rep(20, paused=True, cued=False))
    await feed.send(samples.rep(21))
    await expect(page.get_by_test_id("strip")).to_contain_text("Rep 21")
    assert "Rep 20" not in await page.get_by_test_id("strip").inner_text()
    assert await page.get_by_test_id("strip").locator("li").count() == before + 1
    await page.get_by_role("button", name="Go on").click()
    assert await feed.asked() == PauseMessage(on=False)


async def test_silent_reps_are_told_from_cued_ones_by_more_than_colour(open_page: OpenPage, feed: Feed) -> None:
    feed.hello = samples.hello(reps=[samples.rep(1), samples.rep(2, cued=False)])
    page = await on_stand(open_page, PHONE)
    marks = page.get_by_test_id("strip").locator("path")
    fills = await marks.evaluate_all("(all) => all.map((one) => getComputedStyle(one).fill)")
    assert fills[0] != "none"
    assert fills[1] == "none"
    await expect(page.get_by_test_id("strip").locator("li").nth(1)).to_contain_text("without the cue")


@pytest.mark.parametrize("screen", list(SIZES))
async def test_a_test_hides_the_figures_here_too(open_page: OpenPage, feed: Feed, screen: str) -> None:
    feed.hello = samples.hello(course=samples.course(block=3), reps=samples.reps())
    feed.now = samples.frame(**samples.CUPPED)
    page = await open_page(stand=True, viewport=SIZES[screen])
    if screen == "tablet":
        await page.get_by_test_id("stand").click()
    await expect(page.get_by_test_id("test")).to_be_visible()
    await expect(page.get_by_test_id("stand-figure")).to_have_count(0)
    await expect(page.get_by_test_id("strip")).to_have_count(0)
    await expect(page.locator("canvas")).to_have_count(0)
    assert await page.evaluate(CLIPPED) == []
    await shoot(page, f"stand-test-{screen}")


@pytest.mark.parametrize("screen", list(SIZES))
async def test_trouble_is_told_here_too(open_page: OpenPage, feed: Feed, screen: str) -> None:
    feed.hello = samples.hello(reps=samples.reps())
    page = await on_stand(open_page, SIZES[screen])
    await feed.send(
        ProblemMessage(code="turned:club", text="The club's sensor lies about 20° from how it did at the fit.")
    )
    await expect(page.get_by_text("lies about 20°")).to_be_visible()
    assert await page.evaluate(CLIPPED) == []
    feed.now = None
    await expect(page.get_by_test_id("stand-notice")).to_contain_text("For over a second the recording has no reading")
    await expect(page.get_by_test_id("stand-figure")).to_have_text("\u2013")
    await painted(page)
    await shoot(page, f"stand-trouble-{screen}")
    assert await page.evaluate(CLIPPED) == []
    assert await violations(page) == []
    await feed.show(**samples.INSIDE)
    await page.get_by_role("button", name="Dismiss").click()
    await expect(page.get_by_text("lies about 20°")).to_have_count(0)


WAKE = """
(() => {
  const made = window.__locks = [];
  const wakeLock = { request: async () => {
    if (window.__refuse) throw new DOMException('no', 'NotAllowedError');
    const lock = new EventTarget();
    lock.released = false;
    lock.release = async () => { lock.released = true; lock.dispatchEvent(new Event('release')); };
    made.push(lock);
    return lock;
  } };
  Object.defineProperty(navigator, 'wakeLock', { value: wakeLock, configurable: true });
})()
"""
HIDE = """
(state) => {
  Object.defineProperty(document, 'visibilityState', { value: state, configurable: true });
  if (state === 'hidden') for (const lock of window.__locks) void lock.release();
  document.dispatchEvent(new Event('visibilitychange'));
}
"""


async def test_the_screen_is_kept_on_and_again_after_the_page_was_hidden(open_page: OpenPage, feed: Feed) -> None:
    page = await open_page(stand=True)
    await page.add_init_script(WAKE)
    await page.reload()
    await page.wait_for_function("window.__locks.length === 1")
    await page.evaluate(HIDE, "hidden")
    await page.evaluate(HIDE, "visible")
    await page.wait_for_function("window.__locks.length === 2 && !window.__locks[1].released")
    await page.get_by_test_id("whole").click()
    await page.wait_for_function("window.__locks[1].released")
    await page.get_by_test_id("sound").click()
    await page.wait_for_function("window.__locks.length === 3")
    await expect(page.get_by_test_id("screen")).to_have_text("The page keeps the screen on.")


@pytest.mark.parametrize(
    ("script", "said"),
    [
        ("window.__refuse = true;" + WAKE, "perhaps to save its battery"),
        ("delete Navigator.prototype.wakeLock", "This browser cannot keep the screen on"),
        (
            "delete Navigator.prototype.wakeLock; Object.defineProperty(window, 'isSecureContext', { value: false })",
            "its address begins with http",
        ),
    ],
)
async def test_where_the_screen_cannot_be_kept_on_it_says_what_to_do(
    open_page: OpenPage, feed: Feed, script: str, said: str
) -> None:
    page = await open_page(stand=True)
    await page.add_init_script(script)
    await page.reload()
    await expect(page.get_by_test_id("wake")).to_contain_text(said)
    await expect(page.get_by_test_id("wake")).to_contain_text("screen time")
    await shoot(page, "stand-no-wake")
    assert await page.evaluate(CLIPPED) == []
    await page.get_by_role("button", name="Dismiss").click()
    await expect(page.get_by_test_id("wake")).to_have_count(0)


async def test_sound_that_the_device_took_away_is_told_and_fetched_back(open_page: OpenPage, feed: Feed) -> None:
    page = await open_page(stand=True)
    await page.add_init_script(
        "const Original = AudioContext; window.AudioContext = class extends Original {"
        " constructor(...all) { super(...all); window.__audio = this; } };"
        f"{WAKE}; let now = 0; const real = performance.now.bind(performance); performance.now = () => real() + now;"
        "window.__later = (ms) => { now += ms; };"
    )
    await page.reload()
    sound = page.get_by_test_id("sound")
    await sound.click()
    await expect(sound).to_have_text("Sound on")
    await page.evaluate(HIDE, "hidden")
    await page.evaluate("window.__audio.suspend()")
    await expect(sound).to_have_text("Sound stopped by this device — tap")
    await page.evaluate("window.__later(42000)")
    await page.evaluate(HIDE, "visible")
    await expect(sound).to_have_text("Sound on")
    await expect(page.get_by_text("The page was out of sight for 42 s")).to_be_visible()


async def test_what_is_over_leads_to_the_whole_page(open_page: OpenPage, feed: Feed) -> None:
    feed.hello = samples.hello(source=SourceView(kind="replay", name="a", speed=1.0))
    feed.now = None
    page = await open_page(stand=True)
    await expect(page.get_by_test_id("headline")).to_contain_text("has not come to the first reading")
