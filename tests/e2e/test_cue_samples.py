"""The cue's own graph, rendered sample by sample by an OfflineAudioContext: no clicks, never over the ceiling."""

from __future__ import annotations

import base64

import numpy as np
import pytest
from numpy.typing import NDArray
from playwright.async_api import Page

from tests.e2e.conftest import OpenPage
from tests.e2e.feed import Feed
from tests.e2e.sound import Sound

RATE_HZ = 48_000

# Runs a list of [at_s, what, ...arguments] against the product's own graph. An offline clock stands still while it is
# programmed, so each step suspends the rendering where it is due, as the live clock would stand then.
RENDER = """
async ([seconds, volume, steps]) => {
  const rate = 48000;
  const context = new OfflineAudioContext(1, seconds * rate, rate);
  const cue = window.__pitchbend.buildCue(context, volume);
  for (const [at, what, ...rest] of steps) {
    const due = Math.ceil((at * rate) / 128) * 128 / rate;
    context.suspend(due).then(() => { cue[what](...rest, context.currentTime); return context.resume(); });
  }
  const samples = (await context.startRendering()).getChannelData(0);
  const bytes = new Uint8Array(samples.buffer);
  let text = '';
  for (let i = 0; i < bytes.length; i += 32768) text += String.fromCharCode(...bytes.subarray(i, i + 32768));
  return btoa(text);
}
"""


async def render(page: Page, *, seconds: float, volume: float, steps: list[list[object]]) -> NDArray[np.float32]:
    text = await page.evaluate(RENDER, [seconds, volume, steps])
    return np.frombuffer(base64.b64decode(text), "<f4")


def part(samples: NDArray[np.float32], from_s: float, to_s: float) -> NDArray[np.float32]:
    return samples[int(from_s * RATE_HZ) : int(to_s * RATE_HZ)]


def steepest(samples: NDArray[np.float32]) -> float:
    return float(np.abs(np.diff(samples)).max())


@pytest.fixture
async def page(open_page: OpenPage, feed: Feed) -> Page:
    opened = await open_page()
    await opened.wait_for_function("window.__pitchbend")
    return opened


async def test_opening_bending_and_closing_make_no_click(page: Page) -> None:
    heard = await render(
        page,
        seconds=1.0,
        volume=1.0,
        steps=[
            [0.1, "follow", True, -4],
            *[[0.2 + 0.02 * i, "follow", True, -4 - 2 * i] for i in range(8)],
            [0.5, "follow", False, 0],
            [0.6, "follow", True, 6],
            [0.7, "follow", True, -6],
            [0.8, "follow", False, 0],
        ],
    )
    steady = {"below": part(heard, 0.14, 0.2), "above": part(heard, 0.65, 0.7)}
    limit = 1.1 * max(steepest(tone) for tone in steady.values())
    assert steepest(heard) <= limit
    # The same check would hear a tone that is simply cut off at its crest.
    assert np.abs(heard).max() > 2 * limit
    assert np.abs(part(heard, 0.0, 0.1)).max() == 0
    assert np.abs(part(heard, 0.56, 0.6)).max() < 1e-4
    assert np.abs(part(heard, 0.88, 1.0)).max() < 1e-4


async def test_it_is_there_within_ten_milliseconds_and_gone_within_thirty(page: Page) -> None:
    heard = await render(page, seconds=0.5, volume=1.0, steps=[[0.1, "follow", True, 5], [0.3, "follow", False, 0]])
    full = np.abs(part(heard, 0.2, 0.3)).max()
    assert np.abs(part(heard, 0.105, 0.112)).max() > 0.7 * full
    assert np.abs(part(heard, 0.33, 0.5)).max() < 0.01 * full


@pytest.mark.parametrize("volume", [1.0, 5.0, -3.0])
async def test_no_volume_and_no_overlap_exceeds_the_ceiling(page: Page, volume: float) -> None:
    ceiling = await page.evaluate("window.__pitchbend.ceiling")
    heard = await render(
        page,
        seconds=0.6,
        volume=volume,
        steps=[
            [0.05, "blip"],
            [0.08, "follow", True, 30],
            [0.1, "blip"],
            [0.2, "setVolume", max(volume, 1.0) * 4],
            [0.3, "follow", True, -30],
        ],
    )
    assert np.abs(heard).max() <= ceiling
    assert np.abs(heard).max() > 0.6 * ceiling


async def test_a_cue_takes_over_a_confirming_tone_and_keeps_sounding(page: Page) -> None:
    heard = await render(page, seconds=0.5, volume=1.0, steps=[[0.05, "blip"], [0.08, "follow", True, -2]])
    assert np.abs(part(heard, 0.3, 0.5)).max() > 0.15


async def test_registers_never_meet(page: Page) -> None:
    notes = await page.evaluate("[-90, -24, -12, -1, 1, 12, 24, 90].map(window.__pitchbend.cueHz)")
    assert notes == sorted(notes)
    assert max(notes[:4]) <= 330
    assert min(notes[4:]) >= 660
    assert (notes[0], notes[-1]) == (165, 1320)


async def test_the_chime_is_two_notes_between_the_registers_without_a_click(page: Page) -> None:
    heard = await render(page, seconds=0.8, volume=1.0, steps=[[0.1, "chime"]])
    assert 0.05 < np.abs(heard).max() <= 0.25
    first, second = (
        Sound(samples=part(heard, *span), rate_hz=RATE_HZ).frequency_hz() for span in ((0.12, 0.2), (0.28, 0.39))
    )
    assert 330 < first < second < 660
    assert np.abs(part(heard, 0.55, 0.8)).max() < 1e-4
    tone = await render(page, seconds=0.5, volume=1.0, steps=[[0.1, "follow", True, 8.0]])
    assert steepest(heard) <= steepest(tone) * 1.05


async def test_a_cue_cuts_the_chime_short(page: Page) -> None:
    alone = await render(page, seconds=0.6, volume=1.0, steps=[[0.2, "follow", True, -8.0]])
    both = await render(page, seconds=0.6, volume=1.0, steps=[[0.1, "chime"], [0.2, "follow", True, -8.0]])
    tail = [Sound(samples=part(one, 0.3, 0.6), rate_hz=RATE_HZ).frequency_hz() for one in (alone, both)]
    assert abs(tail[0] - tail[1]) < 2


async def test_the_tick_is_one_short_soft_sound_and_the_cue_silences_it(page: Page) -> None:
    heard = await render(page, seconds=0.4, volume=1.0, steps=[[0.1, "tick"]])
    loud = np.flatnonzero(np.abs(heard) > 0.01) / RATE_HZ
    assert 0.005 < loud[-1] - loud[0] < 0.05
    assert 0.03 < np.abs(heard).max() < 0.5 * 0.25  # softer than the cue, which reaches the ceiling
    alone = await render(page, seconds=0.5, volume=1.0, steps=[[0.1, "follow", True, -6.0]])
    both = await render(page, seconds=0.5, volume=1.0, steps=[[0.1, "follow", True, -6.0], [0.25, "tick"]])
    assert np.abs(alone - both).max() < 1e-6


async def test_what_a_whole_swing_was_is_told_apart_by_register_and_by_length(page: Page) -> None:
    spans, notes = {}, {}
    for side in ("below", "above"):
        heard = await render(page, seconds=1.0, volume=1.0, steps=[[0.1, "end", side]])
        assert np.abs(heard).max() <= 0.25
        loud = np.flatnonzero(np.abs(heard) > 0.01) / RATE_HZ
        spans[side] = loud[-1] - loud[0]
        ends = (part(heard, 0.11, 0.15), part(heard, float(loud[-1]) - 0.06, float(loud[-1]) - 0.02))
        notes[side] = [Sound(samples=one, rate_hz=RATE_HZ).frequency_hz() for one in ends]
        tone = await render(page, seconds=0.5, volume=1.0, steps=[[0.1, "follow", True, 24.0]])
        assert steepest(heard) <= steepest(tone) * 1.05  # no click
    assert spans["above"] > 2 * spans["below"]
    assert notes["below"][1] < notes["below"][0] < 392  # falls, under the chime of a good one
    assert 587 < notes["above"][0] < notes["above"][1]  # rises, over it
