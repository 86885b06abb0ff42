"""How long the set-up on a phone takes, and where each second goes: the page in Chromium, and the virtual pair's golfer.

    python -m tests.bench.bench_setup

The golfer hears the page as a person does: told of a move he takes it up after a moment, and what turns he begins at the notes.
Nobody reads the page or straps anything on, and nothing is done badly. Figures, never pass or fail.
"""

from __future__ import annotations

import asyncio
import os
import sys
import tempfile
import time
from asyncio.subprocess import DEVNULL, PIPE, Process
from pathlib import Path

from playwright.async_api import Page, async_playwright

from tests.e2e.browser import FLAGS, PHONE, chromium_path
from tests.e2e.test_setup import KNOWN, STAND

PORT = 8931
READ = "localStorage.setItem('pitchbend.cautions-read', 'yes')"
EARS = """
(() => {
  let last = '';
  const look = () => {
    const guide = document.querySelector('[data-testid=guide]');
    const now = guide ? guide.dataset.state + ' ' + guide.dataset.move : '';
    if (now === last) return;
    last = now;
    if (now) window.heard(now, guide.querySelector('[role=alert]').textContent);
  };
  new MutationObserver(look).observe(document, { subtree: true, childList: true, attributes: true });
})();
"""


class Walk:
    """Goes through the steps as they come; counts taps, and notes when each was done and each move was told and begun."""

    def __init__(self, page: Page, pair: Process) -> None:
        self.page = page
        self.pair = pair
        self.taps = 0
        self.start_s = time.monotonic()
        self.log: list[tuple[str, float]] = []

    async def tap(self, name: str) -> None:
        """Tap a button."""
        await self.page.get_by_role("button", name=name, exact=True).first.click(timeout=30_000)
        self.taps += 1

    def note(self, what: str) -> None:
        """Note that something is done."""
        self.log.append((what, time.monotonic() - self.start_s))

    def heard(self, what: str, advice: str) -> None:
        """Note what the page says; the golfer hears which move comes."""
        state, move = what.split()
        if state == "lead" and self.pair.stdin is not None:
            self.pair.stdin.write(f"ready {move}\n".encode())
        self.note(f"  {'told' if state == 'lead' else 'begun'}: {move} {advice}")

    async def step(self) -> str | None:
        """Which step the page is at; None when the figures are shown."""
        await self.page.wait_for_selector("[data-testid=setup], [data-testid=stand-figure]", timeout=60_000)
        setup = self.page.get_by_test_id("setup")
        return await setup.get_attribute("data-step") if await setup.count() else None

    async def go(self, *, calibrates: bool) -> None:
        """Do every step until a rep has figures."""
        while (step := await self.step()) is not None:
            match step:
                case "cautions":
                    await self.tap("I have read this")
                case "trim":
                    await self.tap("Calibrate now" if calibrates else "Leave it out this time")
                    await self.tap("Begin")
                case "club":
                    await self.tap("7 iron")
                case "drill":
                    await self.page.locator("[data-testid=setup] li button").first.click()
                    self.taps += 1
                case "wear":
                    await self.tap("Both sit firmly")
                case "fit":
                    await self.tap("Begin")
                case _:
                    pass
            await self.page.wait_for_function(
                "(step) => document.querySelector('[data-testid=setup]')?.dataset.step !== step",
                arg=step,
                timeout=180_000,
            )
            self.note(step)
        await self.page.wait_for_function("window.__pitchbend.lastRep() !== null", timeout=120_000)
        self.note("first swing")


async def measure(name: str, *scripts: str, data: str, calibrates: bool = False) -> None:
    """One practice from the page's opening to the first rep; golfer and calibration are remembered in the folder `data`."""
    pair = await asyncio.create_subprocess_exec(
        sys.executable, "-m", "server", "virtual-pair", "--fit", "asked", "--no-browser", "--port", str(PORT), "--remember",
        stdin=PIPE, stdout=DEVNULL, env=os.environ | {"XDG_DATA_HOME": data},
    )  # fmt: skip
    try:
        async with async_playwright() as playwright:
            browser = await playwright.chromium.launch(executable_path=chromium_path(), args=FLAGS)
            page = await browser.new_page(viewport=PHONE, bypass_csp=True)
            for script in (STAND, *scripts):
                await page.add_init_script(script)
            for _ in range(60):
                try:
                    await page.goto(f"http://127.0.0.1:{PORT}/")
                    break
                except Exception:  # noqa: BLE001  # not up yet
                    await asyncio.sleep(0.5)
            await page.wait_for_function("window.__pitchbend?.status() === 'live'", timeout=60_000)
            walk = Walk(page, pair)
            await page.expose_function("heard", walk.heard)
            await page.evaluate(EARS)
            await walk.go(calibrates=calibrates)
            await browser.close()
    finally:
        pair.terminate()
        await pair.wait()
    load = ", ".join(f"{one:.1f}" for one in os.getloadavg()[:2]) if hasattr(os, "getloadavg") else "not known"
    print(f"{name}: {walk.taps} taps; load of the last minute and five: {load}")
    for what, at_s in walk.log:
        print(f"  {at_s:6.1f} s  {what}", flush=True)


async def main() -> None:
    """All ways."""
    with tempfile.TemporaryDirectory() as data:
        await measure("first time", data=data, calibrates=True)
        await measure("later, remembered", KNOWN, READ, data=data)
        for fits in Path(data, "pitchbend", "players").glob("*/*.json"):
            fits.unlink()
        await measure("later, not remembered", KNOWN, READ, data=data)
    with tempfile.TemporaryDirectory() as data:
        await measure("later, calibration left out", KNOWN, READ, data=data)


if __name__ == "__main__":
    asyncio.run(main())
