"""How long the set-up on a phone takes: the page in Chromium, led by its own pace, and the virtual pair's golfer.

    python -m tests.bench.bench_setup

The golfer of the virtual pair makes each move as soon as it begins and never badly; a person needs longer where one is refused,
and for reading and strapping on, which nobody does here. Figures, never pass or fail.
"""

from __future__ import annotations

import asyncio
import os
import subprocess
import sys
import tempfile
import time

from playwright.async_api import Page, async_playwright

from tests.e2e.browser import FLAGS, PHONE, chromium_path
from tests.e2e.test_setup import KNOWN, STAND

PORT = 8931
READ = "localStorage.setItem('pitchbend.cautions-read', 'yes')"


class Walk:
    """Goes through the steps as they come; counts taps, and notes when each was done."""

    def __init__(self, page: Page) -> None:
        self.page = page
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

    async def step(self) -> str | None:
        """Which step the page is at; None when the figures are shown."""
        await self.page.wait_for_selector("[data-testid=setup], [data-testid=stand-figure]", timeout=60_000)
        setup = self.page.get_by_test_id("setup")
        return await setup.get_attribute("data-step") if await setup.count() else None

    async def go(self) -> None:
        """Do every step until a rep has figures."""
        while (step := await self.step()) is not None:
            match step:
                case "cautions":
                    await self.tap("I have read this")
                case "trim":
                    await self.tap("Leave it out this time")
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


async def measure(name: str, *scripts: str, data: str | None = None) -> None:
    """One practice from the page's opening to the first rep; in `data` the golfer is remembered."""
    command = [sys.executable, "-m", "server", "virtual-pair", "--fit", "asked", "--no-browser", "--port", str(PORT)]
    env = os.environ | ({"XDG_DATA_HOME": data} if data else {})
    command += ["--remember"] if data else []
    with subprocess.Popen(command, stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, env=env) as pair:
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
                walk = Walk(page)
                await walk.go()
                await browser.close()
        finally:
            pair.terminate()
    print(f"{name}: {walk.taps} taps")
    for what, at_s in walk.log:
        print(f"  {what:12s} {at_s:6.1f} s")


async def main() -> None:
    """All ways."""
    with tempfile.TemporaryDirectory() as data:
        await measure("first time", data=data)
        await measure("later, remembered", KNOWN, READ, data=data)
    await measure("later, not remembered", KNOWN, READ)


if __name__ == "__main__":
    asyncio.run(main())
