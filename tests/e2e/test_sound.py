"""The cue as it is heard: the samples on their way to the loudspeaker, with the browser's autoplay rules in force."""

from __future__ import annotations

from typing import Any

from playwright.async_api import Page, expect

from server.wire import CueMessage
from tests.e2e import samples
from tests.e2e.conftest import OpenPage
from tests.e2e.feed import Feed
from tests.e2e.sound import heard_of, hush, listen, sounded

SILENT = 1e-3
BELOW_HZ = 330.0 * 2 ** (-9 / 24)
ABOVE_HZ = 660.0 * 2 ** (12 / 24)


async def tap(page: Page) -> None:
    await page.get_by_test_id("sound").click()


async def cross(feed: Feed, frame: dict[str, Any]) -> None:
    """Leave or re-enter the band as the server tells it: the cue message first, then frames."""
    await feed.send(CueMessage(t_s=1.0, sounding=frame["sounding"], error_deg=frame["error_deg"]))
    await feed.show(**frame)


async def test_nothing_sounds_before_the_tap_and_the_first_tap_is_heard(open_page: OpenPage, feed: Feed) -> None:
    page = await open_page(hears=True)
    button = page.get_by_test_id("sound")
    await expect(button).to_have_text("Sound off — tap to hear the cue")
    await cross(feed, samples.CUPPED)
    await page.wait_for_function("window.__pitchbend.cueTrace().length > 0")
    assert await page.evaluate("window.__pcm.length") == 0
    await tap(page)
    await expect(button).to_have_text("Sounding")
    heard = await listen(page)
    assert 0.03 < heard.peak <= 0.25


async def test_the_tap_is_confirmed_by_a_short_tone(open_page: OpenPage, feed: Feed) -> None:
    page = await open_page(hears=True)
    await tap(page)
    await expect(page.get_by_test_id("sound")).to_have_text("Sound on")
    # The tap on the graph is ready a little after the context: off and on again makes it hear a whole tone.
    await page.wait_for_function("window.__tapReady")
    await tap(page)
    await expect(page.get_by_test_id("sound")).to_have_text("Sound off — tap to hear the cue")
    await page.evaluate("() => { window.__pcm.length = 0; }")
    await tap(page)
    await page.wait_for_function("window.__pcm.some((chunk) => chunk.some((x) => Math.abs(x) > 0.03))")
    after = await listen(page)
    assert after.samples[-1000:].max() < SILENT


async def test_below_and_above_the_band_sound_in_their_own_registers(open_page: OpenPage, feed: Feed) -> None:
    page = await open_page(hears=True)
    await tap(page)
    await expect(page.get_by_test_id("sound")).to_have_text("Sound on")
    heard = {}
    for frame, hz in ((samples.CUPPED, BELOW_HZ), (samples.BOWED, ABOVE_HZ)):
        await cross(feed, frame)
        await expect(page.get_by_test_id("sound")).to_have_text("Sounding")
        heard[hz] = await listen(page, last_s=0.25)
        await cross(feed, samples.INSIDE)
        await expect(page.get_by_test_id("sound")).to_have_text("Sound on")
        inside = await listen(page)
        assert inside.samples[-2000:].max() < SILENT
    for hz, sound in heard.items():
        assert abs(sound.frequency_hz() - hz) < 4
        assert 0.1 < sound.peak <= 0.25


async def test_the_note_bends_further_with_the_error(open_page: OpenPage, feed: Feed) -> None:
    page = await open_page(hears=True)
    await tap(page)
    await cross(feed, samples.CUPPED)
    near = await listen(page, last_s=0.25)
    await feed.show(error_deg=-20.0)
    await page.wait_for_function("window.__pitchbend.frame().error_deg === -20")
    far = await listen(page, last_s=0.35)
    assert far.frequency_hz() < near.frequency_hz() - 40


async def test_frames_make_good_a_missed_cue_message(open_page: OpenPage, feed: Feed) -> None:
    page = await open_page(hears=True)
    await tap(page)
    await feed.show(**samples.BOWED)
    await expect(page.get_by_test_id("sound")).to_have_text("Sounding")
    await feed.show(**samples.INSIDE)
    await expect(page.get_by_test_id("sound")).to_have_text("Sound on")


async def test_the_cue_stops_when_the_server_goes_and_when_readings_stop(open_page: OpenPage, feed: Feed) -> None:
    page = await open_page(hears=True)
    button = page.get_by_test_id("sound")
    await tap(page)
    await cross(feed, samples.CUPPED)
    await expect(button).to_have_text("Sounding")
    feed.now = None
    await expect(page.get_by_test_id("status")).to_have_text("No fresh data")
    await expect(button).to_have_text("Sound on")
    assert (await listen(page)).samples[-2000:].max() < SILENT

    await cross(feed, samples.CUPPED)
    await expect(button).to_have_text("Sounding")
    feed.refuses = True
    await feed.drop()
    await expect(page.get_by_test_id("status")).to_have_text("Server gone")
    await expect(button).to_have_text("Sound on")
    assert (await listen(page)).samples[-2000:].max() < SILENT


async def test_volume_is_kept_and_the_devices_delay_is_told(open_page: OpenPage, feed: Feed) -> None:
    page = await open_page(hears=True)
    await page.get_by_label("Volume").fill("0.2")
    await tap(page)
    await cross(feed, samples.CUPPED)
    await expect(page.get_by_test_id("sound")).to_have_text("Sounding")
    quiet = await listen(page)
    assert quiet.peak < 0.25 * 0.2**2 * 1.05
    await expect(page.get_by_test_id("latency")).to_contain_text("ms late")
    assert await page.evaluate("localStorage.getItem('pitchbend.volume')") == "0.2"


async def test_a_late_device_is_warned_about(open_page: OpenPage, feed: Feed) -> None:
    page = await open_page(hears=True)
    await page.evaluate(
        "() => Object.defineProperty(AudioContext.prototype, 'outputLatency', { get: () => 0.18, configurable: true })"
    )
    await tap(page)
    await expect(page.get_by_test_id("latency")).to_contain_text("not wireless ones")


async def test_a_good_rep_is_chimed_and_told_only_when_it_was_cued(open_page: OpenPage, feed: Feed) -> None:
    page = await open_page(hears=True)
    await page.evaluate(
        "() => { window.__said = []; window.speechSynthesis.speak = (speech) => window.__said.push(speech.text); }"
    )
    await page.get_by_label("Say the result of each rep").check()
    await tap(page)
    await hush(page)  # the tap's own tone is over
    for rep, chimes, says in (
        (samples.rep(1), False, True),
        (samples.good_rep(2).model_copy(update={"cued": False}), False, False),
        (samples.good_rep(3).model_copy(update={"testing": True}), False, False),
        (samples.good_rep(4), True, True),
    ):
        await page.evaluate("() => { window.__said.length = 0; }")
        await hush(page)
        await feed.send(rep)
        await page.wait_for_function(f"window.__pitchbend.lastRep() === {rep.index}")
        heard = await (sounded(page) if chimes else heard_of(page, more_s=0.2))
        assert (heard.peak > SILENT) is chimes, rep.index
        assert bool(await page.evaluate("window.__said")) is says, rep.index
    await page.get_by_label("Chime after a good rep").uncheck()
    await hush(page)
    await feed.send(samples.good_rep(5))
    await page.wait_for_function("window.__pitchbend.lastRep() === 5")
    assert (await heard_of(page, more_s=0.2)).peak < SILENT
    assert await page.evaluate("localStorage.getItem('pitchbend.chime')") == "no"
