"""From a packet handed over by the radio to the cue scheduled in a browser: the real service, a real Chromium, loopback.

    python -m tests.bench.bench_cue [--students N] [--rounds N]

Plays recordings at the pace they were made, a practice and a page for each student, all pages in one browser with their sound
on. A cue counts from the moment the source gives its packet to the moment the page's call to Web Audio has returned. The band
is a narrow one, so that a swing leaves it and comes back to it. Radio and audio device are not in it; the device's own delay
is what the page shows. A report, never a pass or fail.
"""

from __future__ import annotations

import argparse
import asyncio
import math
import os
import tempfile
import time
from dataclasses import replace
from pathlib import Path

import numpy as np
from playwright.async_api import Browser, Page, async_playwright

from fusion.outputs.cue import CueChange
from fusion.outputs.output import Output
from fusion.pipeline import Pipeline
from sensors.events import RawPacket, SourceEvent
from sensors.sources.replay import ReplaySource
from sensors.virtual.lesson import LEARNERS, write_learner
from server.cli.demo_recording import demo_recording
from server.drills import default_drill
from server.engine import Engine
from server.wire import SourceView
from tests.e2e.browser import FLAGS, PHONE, chromium_path
from tests.e2e.conftest import READ_CAUTIONS
from tests.live_service import running

DRILL = replace(
    default_drill(), low=math.radians(-2), high=math.radians(2), hysteresis=math.radians(0.3), warn=None, blocks=()
)

# Notes each opening and shutting of the cue's envelope, once Web Audio has taken it.
LISTEN = """
(() => {
  try { localStorage.setItem('pitchbend.chime', 'no') } catch {}
  window.__edges = [];
  const set = AudioParam.prototype.setTargetAtTime;
  AudioParam.prototype.setTargetAtTime = function (value, ...rest) {
    const out = set.call(this, value, ...rest);
    if (value === 0 || value === 1) window.__edges.push([value, performance.now()]);
    return out;
  };
})();
"""


class Given:
    """Opens a recording when told to, and notes when each packet is handed over."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.begin = asyncio.Event()
        self.now_ns = 0
        self.edges: list[tuple[int, int]] = []
        """Whether the cue begins (1) or ends (0), and when its packet was given."""

    def source(self) -> ReplaySource:
        given = self

        class Stamped(ReplaySource):
            async def __aenter__(self):
                await given.begin.wait()
                return await super().__aenter__()

            async def __aiter__(self):
                async for event in super().__aiter__():
                    given.now_ns = time.monotonic_ns()
                    yield event

        return Stamped(self.path, hurry_fit=True)

    def pipeline(self) -> Pipeline:
        given = self

        class Noted(Pipeline):
            def push(self, event: SourceEvent) -> tuple[Output, ...]:
                outputs = super().push(event)
                if isinstance(event, RawPacket):
                    given.edges += [(int(out.sounding), given.now_ns) for out in outputs if isinstance(out, CueChange)]
                return outputs

        return Noted(DRILL)


async def clock_offset_ms(page: Page) -> tuple[float, float]:
    """What to add to the page's clock to have this process's, in ms, and how far it may be off."""
    best = (math.inf, 0.0)
    for _ in range(200):
        before = time.monotonic_ns() / 1e6
        there = await page.evaluate("performance.now()")
        after = time.monotonic_ns() / 1e6
        best = min(best, (after - before, (before + after) / 2 - there))
    return best[1], best[0] / 2


async def opened(browser: Browser, url: str) -> Page:
    context = await browser.new_context(viewport=PHONE, bypass_csp=True)
    page = await context.new_page()
    for script in (LISTEN, READ_CAUTIONS, "try { localStorage.setItem('pitchbend.view', 'whole') } catch {}"):
        await page.add_init_script(script)
    await page.goto(url)
    await page.get_by_test_id("sound").click()
    await page.wait_for_function("window.__edges.length > 0")  # the tone that answers the tap
    return page


async def play(paths: list[Path]) -> tuple[list[float], float, float]:
    """One round: delays in ms, how far they may be off, and the service's processor time over the wall's."""
    given = [Given(path) for path in paths]
    engines = [
        Engine(
            one.source,
            view=SourceView(kind="demo", name=one.path.stem, speed=1.0),
            make_pipeline=one.pipeline,
        )
        for one in given
    ]
    async with running(*engines) as service, async_playwright() as playwright:
        browser = await playwright.chromium.launch(executable_path=chromium_path(), args=FLAGS)
        pages = [await opened(browser, f"{service.url}/?bay={bay.id}") for bay in service.bays]
        offsets = [await clock_offset_ms(page) for page in pages]
        for page in pages:
            await page.evaluate("() => { window.__edges.length = 0; }")
        wall_s, cpu_s = time.monotonic(), time.process_time()
        for one in given:
            one.begin.set()
        while not all(engine.hub.present.ended for engine in engines):
            await asyncio.sleep(1.0)
        wall_s, cpu_s = time.monotonic() - wall_s, time.process_time() - cpu_s
        delays: list[float] = []
        for one, page, (offset_ms, _) in zip(given, pages, offsets, strict=True):
            heard = await page.evaluate("window.__edges")
            if [value for value, _ in heard] != [value for value, _ in one.edges]:
                print(f"{one.path.stem}: {len(one.edges)} edges made and {len(heard)} scheduled; left out")
                continue
            delays += [at_ms + offset_ms - ns / 1e6 for (_, at_ms), (_, ns) in zip(heard, one.edges, strict=True)]
        await browser.close()
    return delays, max(spread for _, spread in offsets), cpu_s / wall_s


async def main(n_students: int, n_rounds: int) -> None:
    with tempfile.TemporaryDirectory() as folder:
        paths = [demo_recording()]
        for learner in LEARNERS[: n_students - 1]:
            paths.append(Path(folder) / f"{learner.name}.mcap")
            write_learner(learner, paths[-1])
        load = os.getloadavg()[0]
        rounds = [await play(paths) for _ in range(n_rounds)]
    delays = [delay for one, _, _ in rounds for delay in one]
    p50, p99, worst = np.percentile(delays, [50, 99, 100])
    print(f"machine load before {load:.2f}; clocks matched within {max(off for _, off, _ in rounds):.2f} ms")
    print("| practices and pages | cue edges | p50 ms | p99 ms | max ms | the service, of one core |")
    print("| --- | --- | --- | --- | --- | --- |")
    share = 100 * np.mean([share for _, _, share in rounds])
    print(f"| {n_students} | {len(delays)} | {p50:.1f} | {p99:.1f} | {worst:.1f} | {share:.0f} % |")


if __name__ == "__main__":
    words = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    words.add_argument("--students", type=int, default=1, choices=range(1, 7))
    words.add_argument("--rounds", type=int, default=2)
    chosen = words.parse_args()
    asyncio.run(main(chosen.students, chosen.rounds))
