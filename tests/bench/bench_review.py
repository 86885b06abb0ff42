"""How long the review page takes to show a rep of a practice of a hundred, and whether a list of ten thousand rolls smoothly.

    python -m tests.bench.bench_review [REPS] [ROWS]

The practice of `bench_api`, looked at in Chromium without a graphics card. A report, never a pass or fail.
"""

from __future__ import annotations

import asyncio
import os
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

import numpy as np
from playwright.async_api import Browser, CDPSession, Page, async_playwright

from tests.bench.bench_api import filled, many, record
from tests.e2e.browser import FLAGS, chromium_path
from tests.e2e.review_store import LAPTOP, reviewing

PICTURE = "() => window.__pitchbendReview?.open?.line() && document.querySelector('[data-testid=plot-bend_change_deg] canvas')"
# Copied rows have no swing in the recording, so that no lines come: their list is what is waited for.
ROWS = "() => document.querySelector('[data-testid=review-table] a')"
LISTED = "() => / reps$/.test(document.querySelector('[data-testid=counted]')?.textContent.trim() ?? '')"
GONE_OVER_S = 2.0
# Scrolls from one end to the other; gives the milliseconds between frames.
DRAG = """
async ([testid, seconds]) => {
  const box = document.querySelector(`[data-testid=${testid}]`);
  const gaps = [];
  const startMs = await new Promise(requestAnimationFrame);
  let last = startMs;
  while (last - startMs < 1000 * seconds) {
    const now = await new Promise(requestAnimationFrame);
    gaps.push(now - last);
    last = now;
    const share = Math.min(1, (now - startMs) / 1000 / seconds);
    if (box.scrollHeight > box.clientHeight + 50) box.scrollTop = share * box.scrollHeight;
    else box.scrollLeft = share * box.scrollWidth;
  }
  return gaps.slice(1);
}
"""
GAPS = """
() => {
  const gaps = (window.__gaps = []);
  let last = performance.now();
  const step = (now) => { gaps.push(now - last); last = now; window.__step = requestAnimationFrame(step); };
  window.__step = requestAnimationFrame(step);
}
"""
STOP = "() => { cancelAnimationFrame(window.__step); return window.__gaps.slice(1); }"
# Does something to the list; gives the milliseconds until what came of it has been drawn.
TAKEN = """
async ([what, label]) => {
  const fromMs = performance.now();
  const called = (selector, words) => [...document.querySelectorAll(selector)].find((one) => one.textContent.startsWith(words));
  if (what === 'sort') called('[data-testid=review-table] button', label).click();
  else {
    const select = called('label', 'Verdict').querySelector('select');
    select.value = label;
    select.dispatchEvent(new Event('change', { bubbles: true }));
  }
  await new Promise(requestAnimationFrame);
  await new Promise((drawn) => requestAnimationFrame(() => setTimeout(drawn)));
  return performance.now() - fromMs;
}
"""


async def open_practice(browser: Browser, address: str, ready: str) -> tuple[Page, float, float]:
    """Open the list, tap the practice; gives the page, and the seconds from the tap to the first rows, and to `ready`."""
    page = await (await browser.new_context(viewport=LAPTOP, bypass_csp=True)).new_page()
    await page.goto(f"{address}/#review")
    link = page.get_by_test_id("practices").get_by_role("link")
    await link.wait_for()
    began_s = time.perf_counter()
    await link.click()
    await page.wait_for_function(ROWS, timeout=60_000)
    rows_s = time.perf_counter() - began_s
    await page.wait_for_function(ready, timeout=60_000)
    return page, rows_s, time.perf_counter() - began_s


def frames(gaps_ms: list[float]) -> str:
    middle, most = np.percentile(gaps_ms, [50, 95])
    late = sum(gap > 25 for gap in gaps_ms)
    return (
        f"{len(gaps_ms)} frames, between them median {middle:.1f} ms, 95 % {most:.1f}, most {max(gaps_ms):.1f}, "
        f"{late} longer than 25"
    )


async def spent(devtools: CDPSession) -> dict[str, float]:
    metrics: list[dict[str, Any]] = (await devtools.send("Performance.getMetrics"))["metrics"]
    return {one["name"]: one["value"] for one in metrics}


async def moved(page: Page, what: str, testid: str) -> None:
    """Drag it from end to end, and turn the wheel over it as fast."""
    devtools = await page.context.new_cdp_session(page)
    await devtools.send("Performance.enable")
    box = page.get_by_test_id(testid)
    await box.scroll_into_view_if_needed()
    before = await spent(devtools)
    gaps_ms = await page.evaluate(DRAG, [testid, GONE_OVER_S])
    after = await spent(devtools)
    parts = ("ScriptDuration", "RecalcStyleDuration", "LayoutDuration", "TaskDuration")
    a_frame = [1e3 * (after[name] - before[name]) / len(gaps_ms) for name in parts]
    print(f"{what}, {testid} dragged through in {GONE_OVER_S:.0f} s: {frames(gaps_ms)}")
    print("   a frame, ms: script {:.1f}, style {:.1f}, layout {:.1f}, everything {:.1f}".format(*a_frame))
    place = await box.bounding_box()
    assert place is not None
    whole_px = await box.evaluate(
        "(box) => Math.max(box.scrollHeight - box.clientHeight, box.scrollWidth - box.clientWidth)"
    )
    along = "y" if await box.evaluate("(box) => box.scrollHeight > box.clientHeight + 50") else "x"
    await page.evaluate(GAPS)
    await devtools.send(
        "Input.synthesizeScrollGesture",
        {
            "x": place["x"] + place["width"] / 2, "y": place["y"] + place["height"] / 2,
            f"{along}Distance": whole_px, "speed": int(whole_px / GONE_OVER_S), "gestureSourceType": "mouse",
        },
    )  # fmt: skip
    print(f"   by the wheel, back: {frames(await page.evaluate(STOP))}")


async def look(store: str, what: str, ready: str, until: str) -> None:
    async with async_playwright() as playwright, reviewing(store) as address:
        browser = await playwright.chromium.launch(executable_path=chromium_path(), args=FLAGS)
        rows_s, ready_s = [], []
        for _ in range(3):
            page, to_rows_s, to_ready_s = await open_practice(browser, address, ready)
            rows_s.append(to_rows_s)
            ready_s.append(to_ready_s)
        print(f"load of the machine {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores")
        print(
            f"{what}: from the tap to the first rows {np.median(rows_s):.2f} s (first time {rows_s[0]:.2f}), "
            f"to {until} {np.median(ready_s):.2f} s (first time {ready_s[0]:.2f})"
        )
        await moved(page, what, "review-table")
        await moved(page, what, "review-strip")
        for label in ("Worst", "Bend, top", "Tempo", "Rep"):
            print(f"{what}: sorted by {label} and drawn in {await page.evaluate(TAKEN, ['sort', label]):.0f} ms")
        for label in ("in_band", ""):
            print(f"{what}: filtered by “{label}” and drawn in {await page.evaluate(TAKEN, ['filter', label]):.0f} ms")
        await browser.close()


def main(n_reps: int, n_rows: int) -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        record(folder / "a.mcap", n_reps)
        filled(folder, with_swings=True)
        asyncio.run(look(str(folder / "store.sqlite"), f"{n_reps} reps", PICTURE, "the lines of a rep"))
        many(folder, n_rows)
        asyncio.run(look(str(folder / "store.sqlite"), f"{n_rows} reps", LISTED, "the whole list"))


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 100, int(sys.argv[2]) if len(sys.argv) > 2 else 10_000)
