"""A board on which nothing happens still answers, so that a page can tell it from a dead link."""

from __future__ import annotations

import asyncio
import json

from websockets.asyncio.client import connect

from server.engine import Engine
from tests.live_service import LIVE, HandSource, ToldPipeline, running


async def test_a_ping_is_answered_and_nothing_else() -> None:
    engine = Engine(HandSource, view=LIVE, make_pipeline=lambda: ToldPipeline({}))
    async with running(engine) as service:
        url = service.url.replace("http", "ws", 1)
        async with connect(f"{url}/ws/board?as=coach") as socket:
            assert json.loads(await socket.recv())["type"] == "board"
            for nonsense in ("no json", json.dumps({"type": "drill", "id": "x"})):
                await socket.send(nonsense)
            await socket.send(json.dumps({"type": "ping", "token": 7}))
            async with asyncio.timeout(30):
                assert json.loads(await socket.recv()) == {"type": "pong", "token": 7}
