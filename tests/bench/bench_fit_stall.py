"""How long other practices in the same service wait for somebody's fit: gaps of the event loop, with the fit beside it and in it.

    python -m tests.bench.bench_fit_stall

A practice of the built-in model is played as fast as it goes. Figures, never pass or fail.
"""

from __future__ import annotations

import asyncio
import os
import time

from fusion.pipeline import Pipeline
from sensors.events import RawPacket, SourceEvent
from server.drills import default_drill
from server.engine import Engine
from tests.live_service import LIVE, HandSource, never
from tests.virtual import virtual_session


class Inside(Pipeline):
    """As if a fit took no time: it is worked out in the loop."""

    may_fit = False


async def gaps_s(events: list[SourceEvent], pipeline: Pipeline) -> list[float]:
    """Gaps of the loop while the fit is made, longest first."""
    source = HandSource()
    engine = Engine(lambda: source, view=LIVE, sleep=never, make_pipeline=lambda: pipeline)
    task = asyncio.create_task(engine.run())
    gaps: list[float] = []
    last_s = time.perf_counter()
    for event in events:
        source.feed(event)
        if not isinstance(event, RawPacket):
            continue
        while source._queue._unfinished_tasks:  # type: ignore[attr-defined]
            await asyncio.sleep(0)
            now_s = time.perf_counter()
            gaps.append(now_s - last_s)
            last_s = now_s
        if pipeline.fit.complete:
            break
    task.cancel()
    await asyncio.wait({task})
    return sorted(gaps, reverse=True)


async def main() -> None:
    """Both ways."""
    events = list(virtual_session(6, 1).events())
    for name, make in (("in the loop", Inside), ("beside it", Pipeline)):
        gaps = await gaps_s(events, make(default_drill()))
        print(f"{name}: longest gaps {', '.join(f'{1000 * gap:.0f}' for gap in gaps[:5])} ms")
    print(f"load of the last minute: {os.getloadavg()[0]:.1f}")


if __name__ == "__main__":
    asyncio.run(main())
