from __future__ import annotations

import asyncio

import pytest

from fusion.outputs.fit import TrimFound
from sensors.trim import Trim
from server.engine import Engine
from server.trims import TrimStore
from tests.live_service import LIVE, REPLAY, SENSOR, HandSource, ToldPipeline, drain, never, packet

TRIM = Trim(gyr_offset_rad_s=(0.01, -0.02, 0.0), gyr_scale_sd=0.002, acc_sd_m_s2=0.02)


@pytest.fixture
def store(tmp_path):
    return TrimStore(tmp_path / "sensors")


async def told_by_the_pipeline(store, trim, view=LIVE):
    """Run an engine whose pipeline finds a trim; gives the problems told to a client."""
    source = HandSource()
    found = TrimFound(arrival_ns=0, sensor=SENSOR, trim=trim)
    engine = Engine(
        lambda: source, view=view, trims=store, sleep=never, make_pipeline=lambda: ToldPipeline({b"1": (found,)})
    )
    mailbox = engine.hub.join()
    task = asyncio.create_task(engine.run())
    source.feed(packet(b"1"))
    await source.taken()
    task.cancel()
    await asyncio.wait({task})
    return [message["text"] for message in await drain(mailbox) if message["type"] == "problem"]


async def test_a_calibration_made_live_is_kept(store):
    assert await told_by_the_pipeline(store, TRIM) == []
    assert store.find(SENSOR).trim == TRIM


async def test_a_replay_keeps_nothing(store):
    assert await told_by_the_pipeline(store, TRIM, REPLAY) == []
    assert store.find(SENSOR) is None


async def test_a_calibration_that_cannot_be_kept_is_told(tmp_path, store):
    (tmp_path / "file").write_text("")
    (text,) = await told_by_the_pipeline(TrimStore(tmp_path / "file" / "sensors"), TRIM)
    assert "could not be kept" in text
    (text,) = await told_by_the_pipeline(store, Trim(gyr_offset_rad_s=(9.0, 0.0, 0.0)))
    assert "sound sensor" in text
