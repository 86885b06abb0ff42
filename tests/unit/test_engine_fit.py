"""A fit is worked out beside the loop: nobody else waits for it, and the order of events stays that of the recording."""

from __future__ import annotations

import asyncio
import threading

import pytest

from sensors.events import MoveStart, PlayerSet, RawPacket, SensorInfo
from sensors.ids import Move, Side
from sensors.record.reader import read_events
from server.engine import Engine
from server.tape import Tape
from tests.live_service import LIVE, HandSource, ToldPipeline, info, never, packet

MARA = PlayerSet(arrival_ns=0, name="Mara Voss", lead_side=Side.LEFT)


class Thoughtful(ToldPipeline):
    """Takes its time over packets, as over a fit, until it is let go on."""

    def __init__(self):
        super().__init__()
        self.may_fit = True
        self.thinks, self.goes_on = threading.Event(), threading.Event()

    def push(self, event):
        outputs = super().push(event)
        if isinstance(event, RawPacket):
            self.thinks.set()
            assert self.goes_on.wait(30.0)
        return outputs


@pytest.mark.parametrize("stopped", [False, True])
async def test_a_fit_stops_nobody_and_what_comes_meanwhile_is_taken_in_after_it(tmp_path, stopped):
    pipeline, source = Thoughtful(), HandSource()
    engine = Engine(
        lambda: source, view=LIVE, player=MARA, tape=Tape(tmp_path / "a.mcap"), sleep=never,
        make_pipeline=lambda: pipeline, clock_ns=lambda: 40,
    )  # fmt: skip
    task = asyncio.create_task(engine.run())
    source.feed(info(20), packet(b"a", 30), packet(b"b", 31))
    assert await asyncio.to_thread(pipeline.thinks.wait, 30.0)  # the loop is free for it
    assert engine.begin_move(Move.ROLL) is None
    assert MoveStart not in [type(event) for event in pipeline.pushed]
    if stopped:
        task.cancel()
        await asyncio.sleep(0)
    pipeline.goes_on.set()
    if not stopped:
        await source.taken()
        task.cancel()
    await asyncio.wait({task})
    pushed = [getattr(event, "payload", type(event)) for event in pipeline.pushed]
    assert pushed == [PlayerSet, SensorInfo, b"a", MoveStart, *([] if stopped else [b"b"])]
    assert list(read_events(tmp_path / "a.mcap")) == pipeline.pushed
