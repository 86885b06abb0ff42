"""A board and a practice as two services on a real NATS server, which is killed under them."""

from __future__ import annotations

import asyncio
from contextlib import asynccontextmanager

import httpx
import pytest
import uvicorn
from websockets.asyncio.client import connect

from sensors.record.reader import ReadReport, read_events
from server.app import make_app
from server.bays.bay import Bays
from server.bays.local_bay import LocalBay
from server.bays.on_bus import Telling, Watching, this_host
from server.engine import Engine
from server.tape import Tape
from server.web import config_of
from tests.integration.bus.nats_server import PASSWORD, NatsServer
from tests.live_service import LIVE, Client, HandSource, ToldPipeline, info, never, packet, readout
from tests.serving import serving


@asynccontextmanager
async def service(bays, job):
    bugs = []
    async with serving(uvicorn.Server(config_of(make_app(bays, on_bug=bugs.append, on_bus=job)))) as port:
        yield port
    assert bugs == []


@asynccontextmanager
async def page(port, path):
    async with connect(f"ws://127.0.0.1:{port}{path}", compression=None, proxy=None) as socket:
        yield Client(socket)


def status(wanted):
    return lambda message: [bay["status"] for bay in message["bays"]] == [wanted]


@pytest.fixture
async def nats(tmp_path):
    async with NatsServer(tmp_path) as server:
        yield server


async def test_a_lost_bus_loses_the_board_and_neither_the_practice_nor_its_recording(nats, tmp_path):
    source, tape, sentences = HandSource(), tmp_path / "one.mcap", []
    engine = Engine(
        lambda: source, view=LIVE, tape=Tape(tape), sleep=never,
        make_pipeline=lambda: ToldPipeline({b"frame": (readout(3.0),)}),
    )  # fmt: skip
    bay, board_bays = LocalBay(engine, id="one", name="One"), Bays([])
    n = 0

    async def feed():
        nonlocal n
        n += 1
        source.feed(packet(b"frame", n))
        await source.taken()

    async with (
        service(Bays([bay]), Telling(nats.address, [bay], sentences.append)) as own,
        service(board_bays, Watching(nats.address, board_bays, sentences.append)) as far,
        page(own, "/ws/live") as student,
        page(far, "/ws/board?as=coach") as board,
    ):
        await board.until(status("waiting"))
        source.feed(info())
        await feed()
        await board.until(status("live"))
        async with page(far, "/ws/live?bay=one&as=coach") as coach:
            hello = await coach.until_type("hello")
            assert (hello["bay"]["id"], hello["frame"]["t_s"]) == ("one", 3.0)
            await feed()
            await coach.until_type("frame")
            await coach.say({"type": "control", "hold": True})
            assert (await student.until_type("control"))["holder"] == "coach"
            await coach.until_type("control")
            await coach.say({"type": "say", "text": "Slower going back."})
            assert (await student.until_type("said"))["text"] == "Slower going back."
            await coach.pong(1)  # it has its answer
            await nats.kill()
            for _ in range(300):
                await feed()
            assert (await student.pong(1))[-2]["type"] == "frame"
            assert (await coach.until_type("problem"))["code"] == "bay_away"
            (away,) = (await board.until(status("away")))[-1]["bays"]
            assert this_host() in away["problem"]
            await coach.say({"type": "look_ahead", "ms": 30})
            assert (await coach.until_type("problem"))["code"] == "bay_away"
            await nats.start()
            await coach.until_type("hello")
            await feed()
            await coach.until_type("frame")
            await board.until(status("live"))
            async with httpx.AsyncClient(trust_env=False) as http:
                health = (await http.get(f"http://127.0.0.1:{far}/api/health")).json()
                own_health = (await http.get(f"http://127.0.0.1:{own}/api/health")).json()
            assert health["bays"][0]["elsewhere"]["away"] is False
            assert (health["bus"]["away"], health["bus"]["connected"]) == ("", 2)
            assert (own_health["bus"]["boards"], own_health["bus"]["refused"]) == (1, 0)
            assert own_health["bus"]["asked"] == 2
    report = ReadReport()
    payloads = [getattr(event, "payload", b"") for event in read_events(tape, report=report)]
    assert payloads.count(b"frame") == n
    assert report.is_clean
    assert [line for line in sentences if "there again" in line]
    assert not [line for line in sentences if PASSWORD in line]


async def test_a_practice_that_is_stopped_says_so_and_one_that_cannot_connect_goes_on(nats):
    source = HandSource()
    engine = Engine(lambda: source, view=LIVE, make_pipeline=lambda: ToldPipeline({}), sleep=never)
    bay, board_bays = LocalBay(engine, id="one", name="One"), Bays([])
    async with (
        service(board_bays, Watching(nats.address, board_bays, lambda _: None)) as far,
        page(far, "/ws/board?as=coach") as board,
    ):
        async with service(Bays([bay]), Telling(nats.address, [bay], lambda _: None)):
            await board.until(status("waiting"))
        (left,) = (await board.until(status("away")))[-1]["bays"]
        assert "was stopped" in left["problem"]
    await nats.kill()
    sentences = []
    async with (
        service(Bays([bay]), Telling(nats.address, [bay], sentences.append)) as own,
        page(own, "/ws/live") as student,
    ):
        assert (await student.next())["type"] == "hello"
        async with asyncio.timeout(20):
            while not sentences:
                await asyncio.sleep(0.02)
    assert "Practices go on without it" in sentences[0]
