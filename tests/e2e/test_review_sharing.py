"""A coach answers a practice on the review page, a student opens the answer on theirs, with a clip of the swing beside it.

Clips are made by FFmpeg's libraries: the picture turns bright in the very instant in which the strike sounds.
"""

from __future__ import annotations

import asyncio
import base64
from collections.abc import AsyncIterator
from pathlib import Path

import numpy as np
import pytest
from playwright.async_api import Browser, Page, expect

from server.answer.read import read_answer
from tests.e2e.browser import PHONE
from tests.e2e.clip_file import PICTURES_HZ, RATE_HZ, sound_of, write_clip
from tests.e2e.review_store import LAPTOP, fill_store, reviewing
from tests.e2e.shots import shoot
from tests.e2e.test_accessibility import violations
from tests.e2e.test_review_layout import CLIPPED

PRIORITY = "Keep the back of the lead hand flat until the shaft is level"
STRUCK_S = 1.7

# Mean brightness of the picture that the clip shows now, once it has come there.
SHADE = """
async () => {
  const video = document.querySelector('[data-testid=clip] video');
  while (video.seeking || video.readyState < 2) await new Promise((go) => setTimeout(go, 20));
  const canvas = new OffscreenCanvas(16, 16);
  const pen = canvas.getContext('2d');
  pen.drawImage(video, 0, 0, 16, 16);
  const pixels = pen.getImageData(0, 0, 16, 16).data;
  return pixels.reduce((sum, value, i) => sum + (i % 4 === 1 ? value : 0), 0) / 256;
}
"""


@pytest.fixture(scope="module")
async def coach(browser: Browser, tmp_path_factory: pytest.TempPathFactory) -> AsyncIterator[Page]:
    place = await asyncio.to_thread(fill_store, tmp_path_factory.mktemp("coach"))
    async with reviewing(place) as url:
        yield await opened(browser, f"{url}/#review", LAPTOP)


async def opened(browser: Browser, url: str, size: dict[str, int]) -> Page:
    context = await browser.new_context(viewport=size, bypass_csp=False, color_scheme="light", accept_downloads=True)
    page = await context.new_page()
    page.on("console", lambda said: pytest.fail(said.text) if "Content Security" in said.text else None)
    await page.goto(url)
    return page


async def open_practice(page: Page) -> None:
    await page.get_by_test_id("practices").get_by_role("link").first.click()
    await expect(page.get_by_test_id("traces")).to_be_visible(timeout=60_000)


async def at_place(page: Page, clip_s: float) -> None:
    """The clip stands there: as near as the strike was found, the slider steps and the text rounds."""
    await page.wait_for_function(
        "(s) => Math.abs(parseFloat(document.querySelector('[data-testid=clip-place]').textContent) - s) < 0.015",
        arg=clip_s,
    )


async def test_a_coach_answers_and_a_student_opens_it_with_one_drop(
    browser: Browser, coach: Page, tmp_path: Path
) -> None:
    await open_practice(coach)
    await coach.get_by_text("Answer this practice").click()
    make = coach.get_by_role("button", name="Make the file")
    await expect(make).to_be_disabled()
    await coach.get_by_label("Who answers").fill("Wenna Hale")
    await coach.get_by_label("The one thing to change").fill(PRIORITY)
    await coach.get_by_label("Drill to practise").select_option(label="Lay the shaft down")
    await coach.get_by_test_id("answers").scroll_into_view_if_needed()
    await shoot(coach, "review-answer", published=True)
    async with coach.expect_download(timeout=150_000) as download:
        await make.click()
    file = tmp_path / "answer.mcap"
    await (await download.value).save_as(file)
    answer = await asyncio.to_thread(read_answer, file)
    assert answer is not None
    assert (answer.author, answer.priority) == ("Wenna Hale", PRIORITY)
    assert answer.drill is not None
    assert answer.drill.name == "Lay the shaft down"
    await expect(coach.get_by_test_id("answer")).to_contain_text(PRIORITY)

    async with reviewing(str(tmp_path / "student.sqlite"), keep_in=tmp_path / "received") as url:
        student = await opened(browser, f"{url}/#review", PHONE)
        await expect(student.get_by_test_id("no-practices")).to_be_visible()
        junk = tmp_path / "junk.mcap"
        junk.write_bytes(b"not a recording")
        chooser = student.get_by_test_id("receive-file")
        await chooser.set_input_files(junk)
        await expect(student.get_by_test_id("receive").get_by_role("alert")).to_contain_text(
            "not a Pitchbend recording"
        )
        await chooser.set_input_files(file)
        told = student.get_by_test_id("answer")
        await expect(told).to_contain_text(PRIORITY, timeout=120_000)
        await expect(told).to_contain_text("Wenna Hale")
        await told.locator("summary").click()
        await expect(told.get_by_role("img")).to_be_visible()
        assert await student.evaluate(CLIPPED) == []
        assert await violations(student) == []
        await shoot(student, "review-answered-phone")
        await student.context.close()


async def test_a_clip_goes_where_the_instant_goes_and_stays_in_the_browser(coach: Page, tmp_path: Path) -> None:
    await coach.goto(coach.url.split("#")[0] + "#review")
    await open_practice(coach)
    await expect(coach.get_by_test_id("clip")).to_be_visible(timeout=60_000)
    sent: list[str] = []
    coach.on("request", lambda request: sent.append(request.method) if request.method != "GET" else None)
    clip = await asyncio.to_thread(write_clip, tmp_path / "swing.webm", [STRUCK_S])
    await coach.get_by_test_id("clip-file").set_input_files(clip)
    button = coach.get_by_role("button", name="Later by a hundredth of a second")
    await expect(button).to_be_enabled()  # aligned by the strike that was heard

    async def at_impact(by_s: float) -> float:
        await coach.get_by_test_id("scrub-bar").get_by_role("button", name="Impact").click()
        scrubber = coach.get_by_test_id("scrubber")
        at_s = float(await scrubber.input_value()) + by_s
        await scrubber.evaluate(
            "(input, value) => { input.value = value; input.dispatchEvent(new Event('input', { bubbles: true })) }",
            at_s,
        )
        await at_place(coach, STRUCK_S + by_s)
        return await coach.evaluate(SHADE)

    a_picture_s = 1.0 / PICTURES_HZ
    assert await at_impact(-0.01 - a_picture_s) < 80
    assert await at_impact(0.01 + a_picture_s) > 180
    await shoot(coach, "review-clip", published=True)
    assert await violations(coach) == []
    for _ in range(3):
        await button.click()
    await at_place(coach, STRUCK_S + 0.04 + a_picture_s)

    await coach.reload()  # it is still there, and where it was put by hand
    await expect(button).to_be_enabled(timeout=60_000)
    await coach.get_by_test_id("scrub-bar").get_by_role("button", name="Impact").click()
    await at_place(coach, STRUCK_S + 0.03)
    await coach.get_by_role("button", name="Take it away").click()
    await expect(coach.get_by_test_id("clip-file")).to_have_count(1)
    assert sent == []


async def test_a_clip_without_sound_is_aligned_by_hand_and_another_file_is_told(coach: Page, tmp_path: Path) -> None:
    await expect(coach.get_by_test_id("clip-file")).to_have_count(1)
    mute = await asyncio.to_thread(write_clip, tmp_path / "mute.webm", [STRUCK_S], with_sound=False)
    await coach.get_by_test_id("clip-file").set_input_files(mute)
    panel = coach.get_by_test_id("clip")
    await expect(panel).to_contain_text("no sound that this browser can read")
    later = coach.get_by_role("button", name="Later by a hundredth of a second")
    await expect(later).to_be_disabled()
    await coach.get_by_test_id("clip-slider").evaluate(
        "(input) => { input.value = 1.7; input.dispatchEvent(new Event('input', { bubbles: true })) }"
    )
    await coach.get_by_role("button", name="The ball is struck here").click()
    await expect(later).to_be_enabled()
    await coach.get_by_role("button", name="Take it away").click()
    junk = tmp_path / "junk.mp4"
    junk.write_bytes(b"no video")
    await coach.get_by_test_id("clip-file").set_input_files(junk)
    await expect(panel.get_by_role("alert")).to_contain_text("cannot show that file")
    await coach.get_by_role("button", name="Take it away").click()
    unseen = await asyncio.to_thread(write_clip, tmp_path / "unseen.webm", [STRUCK_S], with_picture=False)
    await coach.get_by_test_id("clip-file").set_input_files(unseen)  # as a browser sees a form that it cannot draw
    await expect(panel.get_by_role("alert")).to_contain_text("shows no picture")
    await expect(panel.locator("video")).to_be_hidden()
    await coach.get_by_role("button", name="Take it away").click()


async def test_strikes_are_found_within_a_few_thousandths_in_wind_and_voices_and_none_where_there_is_none(
    coach: Page,
) -> None:
    async def found(samples: np.ndarray) -> list[float]:
        text = base64.b64encode(samples.astype("<f4").tobytes()).decode()
        return await coach.evaluate(
            """([text, rate]) => {
              const bytes = Uint8Array.from(atob(text), (one) => one.charCodeAt(0));
              return window.__pitchbendReview.pure.strikes(new Float32Array(bytes.buffer), rate).map((one) => one.tS);
            }""",
            [text, RATE_HZ],
        )

    for seed in (1, 2, 3):
        heard = await found(sound_of([1.234, 2.345], 3.0, seed=seed))
        assert heard[:2] == pytest.approx([1.234, 2.345], abs=0.004)
    assert await found(sound_of([], 3.0)) == []
    assert await found(np.zeros(RATE_HZ)) == []
    assert await found(np.zeros(0)) == []
