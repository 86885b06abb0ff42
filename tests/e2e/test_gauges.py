"""The figures and pictures follow the frames, in the player's words, for both leads."""

from __future__ import annotations

from playwright.async_api import Page, expect

from fusion.drills.quantity import Quantity
from fusion.outputs.instant import Doubt, Phase
from sensors.ids import Side
from server.wire import PlayerView
from tests.e2e import samples
from tests.e2e.conftest import OpenPage
from tests.e2e.feed import Feed

# Mean x of the alarm-coloured pixels of a gauge's picture, as a share of its width: where the hand lies.
WHERE_RED = """
(name) => {
  const canvas = document.querySelector(`[data-testid=${name}-figure]`).closest('section').querySelector('canvas');
  const { data, width } = canvas.getContext('2d').getImageData(0, 0, canvas.width, canvas.height);
  let sum = 0, n = 0;
  for (let i = 0; i < data.length; i += 4) {
    if (data[i + 3] > 200 && data[i] > 130 && data[i + 1] < 60 && data[i + 2] < 60) { sum += (i / 4) % width; n += 1; }
  }
  return n < 50 ? null : (sum / n + 0.5) / width;
}
"""


async def test_the_bend_figure_and_its_word_follow_the_frames(open_page: OpenPage, feed: Feed) -> None:
    page = await open_page()
    figure, word = page.get_by_test_id("bend-figure"), page.get_by_test_id("bend-word")
    await expect(figure).to_have_text("0°")
    await expect(word).to_have_text("as at address")
    await feed.show(**samples.CUPPED)
    await expect(figure).to_have_text("\u221217°")
    await expect(word).to_have_text("cupped")
    await expect(page.get_by_test_id("bend-past")).to_have_text("▼ 9° past")
    await feed.show(**samples.BOWED)
    await expect(figure).to_have_text("26°")
    await expect(word).to_have_text("bowed")
    await expect(page.get_by_test_id("bend-past")).to_have_text("▲ 12° past")
    await feed.show(**samples.INSIDE)
    await expect(page.get_by_test_id("bend-past")).to_have_text("")


async def test_the_pitch_is_told_against_this_players_address(open_page: OpenPage, feed: Feed) -> None:
    page = await open_page()
    await expect(page.get_by_test_id("pitch-figure")).to_have_text("57°")
    await expect(page.get_by_test_id("pitch-word")).to_have_text("as at address")
    await feed.show(**samples.CUPPED)
    await expect(page.get_by_test_id("pitch-word")).to_have_text("9° steeper")
    await feed.show(**samples.BOWED)
    await expect(page.get_by_test_id("pitch-word")).to_have_text("10° flatter")


async def test_the_spread_is_rounded_up_and_goes_with_its_figure(open_page: OpenPage, feed: Feed) -> None:
    page = await open_page()
    bend, pitch = page.get_by_test_id("bend-spread"), page.get_by_test_id("pitch-spread")
    await expect(bend).to_have_text("± 1°")
    await feed.show(bend_change_sd_deg=2.01, shaft_pitch_sd_deg=3.0)
    await expect(bend).to_have_text("± 3°")
    await expect(pitch).to_have_text("± 3°")
    await expect(bend.locator("..")).to_have_text("one standard deviation: ± 3°")
    await feed.show(shaft_pitch_deg=None, shaft_pitch_sd_deg=None, pitch_doubt=Doubt.FORESHORTENED)
    await expect(pitch.locator("..")).to_have_text("")
    await expect(bend).to_have_text("± 3°")
    await feed.show(bend_change_sd_deg=None)
    await expect(bend).to_have_text("")


async def test_a_shaft_seen_end_on_has_no_figure_but_says_why(open_page: OpenPage, feed: Feed) -> None:
    page = await open_page()
    await feed.show(phase=Phase.SHAFT_LEVEL, shaft_pitch_deg=None, pitch_doubt=Doubt.FORESHORTENED)
    await expect(page.get_by_test_id("pitch-figure")).to_have_text("\u2013")
    await expect(page.get_by_test_id("pitch-word")).to_have_text("shaft points along your line")


async def test_doubted_angles_are_a_dash_and_the_advice_is_shown(open_page: OpenPage, feed: Feed) -> None:
    feed.now = samples.frame(
        bend_change_deg=None,
        shaft_pitch_deg=None,
        doubt=Doubt.NO_ADDRESS,
        pitch_doubt=Doubt.NO_ADDRESS,
        advice="Stand to the ball and be still for half a second.",
    )
    page = await open_page()
    await expect(page.get_by_test_id("headline")).to_have_text("Stand to the ball and be still for half a second.")
    await expect(page.get_by_test_id("bend-figure")).to_have_text("\u2013")
    await expect(page.get_by_test_id("pitch-figure")).to_have_text("\u2013")


async def test_the_phase_strip_marks_where_the_swing_is(open_page: OpenPage, feed: Feed) -> None:
    page = await open_page()
    current = page.locator("[aria-current=step]")
    for phase, words in (
        (Phase.IDLE, "between reps"),
        (Phase.SHAFT_LEVEL, "shaft level"),
        (Phase.ARM_LEVEL, "lead arm level"),
        (Phase.TOP, "top"),
        (Phase.IMPACT, "down"),
        (Phase.FINISH, "finish"),
    ):
        await feed.show(phase=phase)
        await expect(current).to_have_text(words)
        await expect(page.get_by_test_id("phase")).to_have_text(words)


async def red_at(page: Page, gauge: str) -> float | None:
    # Two turns of the paint loop: the frame has been handled, then painted.
    await page.evaluate("() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))")
    return await page.evaluate(WHERE_RED, gauge)


async def test_the_hand_leans_to_its_side_and_a_left_handed_player_sees_the_mirror_image(
    open_page: OpenPage, feed: Feed
) -> None:
    seen: dict[Side, list[float]] = {}
    for side in Side:
        feed.hello = samples.hello(player=PlayerView(name="Ivo Tarn", lead_side=side, club="7-iron"))
        feed.now = samples.frame()
        page = await open_page(color_scheme="light")
        await expect(page.get_by_test_id("bend-word")).to_have_text("as at address")
        assert await red_at(page, "bend") is None
        seen[side] = []
        for state, text in ((samples.CUPPED, "\u221217°"), (samples.BOWED, "26°")):
            await feed.show(**state)
            await expect(page.get_by_test_id("bend-figure")).to_have_text(text)
            where = await red_at(page, "bend")
            assert where is not None
            seen[side].append(where)
        await page.close()
    cupped, bowed = seen[Side.LEFT]
    assert cupped < 0.47
    assert bowed > 0.53
    for left, right in zip(seen[Side.LEFT], seen[Side.RIGHT], strict=True):
        assert abs(left + right - 1) < 0.01


async def test_a_drill_on_pitch_or_face_puts_its_alarm_there(open_page: OpenPage, feed: Feed) -> None:
    feed.hello = samples.hello(drill=samples.drill(quantity=Quantity.SHAFT_PITCH, low_deg=50.0, high_deg=62.0))
    page = await open_page()
    await feed.show(**samples.INSIDE)
    await feed.show(shaft_pitch_deg=70.0, error_deg=8.0)
    await expect(page.get_by_test_id("pitch-past")).to_have_text("▲ 8° past")
    await expect(page.get_by_test_id("bend-past")).to_have_text("")
    await page.close()
    feed.hello = samples.hello(drill=samples.drill(quantity=Quantity.FACE_TWIST, low_deg=-40.0, high_deg=0.0))
    page = await open_page()
    await feed.show(face_twist_deg=-52.0, error_deg=-12.0)
    await expect(page.get_by_test_id("other-figure")).to_have_text("\u221252°")
    await expect(page.get_by_test_id("other-word")).to_have_text("open")
    await expect(page.get_by_test_id("other-past")).to_have_text("▼ 12° past")
