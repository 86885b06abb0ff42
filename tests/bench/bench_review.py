"""How long the review page takes to show a rep of a practice of a hundred, and whether ten thousand in its list can be scrolled.

    python -m tests.bench.bench_review [REPS] [ROWS]

The practice of `bench_api`, looked at in Chromium. A report, never a pass or fail.
"""

from __future__ import annotations

import asyncio
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
from playwright.async_api import Browser, Page, async_playwright

from tests.bench.bench_api import filled, many, record
from tests.e2e.browser import FLAGS, chromium_path
from tests.e2e.review_store import LAPTOP, reviewing

PICTURE = "() => window.__pitchbendReview?.open?.line() && document.querySelector('[data-testid=plot-bend_change_deg] canvas')"
# All reps are in the list. Copied rows have no swing in the recording, so that no lines come.
LISTED = "() => / reps$/.test(document.querySelector('[data-testid=counted]')?.textContent.trim() ?? '')"
# Scrolls a long table from its top to its end in two seconds; gives the milliseconds between frames.
SCROLL = """
async () => {
  const box = document.querySelector('[data-testid=review-table]');
  const gaps = [];
  const startMs = performance.now();
  let last = startMs;
  while (last - startMs < 2000) {
    const now = await new Promise(requestAnimationFrame);
    gaps.push(now - last);
    last = now;
    box.scrollTop = ((now - startMs) / 2000) * box.scrollHeight;
  }
  return [gaps.slice(1), document.querySelectorAll('[data-testid=review-table] tr').length];
}
"""


async def open_practice(browser: Browser, address: str, ready: str) -> tuple[Page, float]:
    """Open the list, tap the practice; gives the page and the seconds from the tap until that is ready."""
    page = await (await browser.new_context(viewport=LAPTOP, bypass_csp=True)).new_page()
    await page.goto(f"{address}/#review")
    link = page.get_by_test_id("practices").get_by_role("link")
    await link.wait_for()
    began_s = time.perf_counter()
    await link.click()
    await page.wait_for_function(ready, timeout=60_000)
    return page, time.perf_counter() - began_s


async def look(store: str, what: str, ready: str, until: str) -> None:
    async with async_playwright() as playwright, reviewing(store) as address:
        browser = await playwright.chromium.launch(executable_path=chromium_path(), args=FLAGS)
        times_s = []
        for _ in range(3):
            page, taken_s = await open_practice(browser, address, ready)
            times_s.append(taken_s)
        print(f"{what}: from the tap to {until} {np.median(times_s):.2f} s (first {times_s[0]:.2f})")
        gaps_ms, n_rows = await page.evaluate(SCROLL)
        print(
            f"{what}: scrolled through in 2 s: {len(gaps_ms)} frames, between them median {np.median(gaps_ms):.0f} ms, "
            f"95 % {np.percentile(gaps_ms, 95):.0f}, most {max(gaps_ms):.0f}; {n_rows} rows in the document"
        )
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
