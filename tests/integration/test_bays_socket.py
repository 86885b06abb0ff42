"""Several practices in one service, over real sockets: each its own, a board of all, and one bug that loses no recording."""

from __future__ import annotations

import asyncio
import socket

import httpx
import pytest
from websockets.exceptions import ConnectionClosed

from sensors.record.reader import ReadReport, read_events
from server.bays.pace import BURST
from server.engine import Engine
from server.joining.guest import Guest
from server.mailbox import MAX_EVENTS
from server.routes.board import EVERY_S
from server.routes.socket import bay_for
from server.service import Service
from server.tape import Tape
from server.wire_board import BoardMessage
from tests.e2e import samples
from tests.live_service import LIVE, HandSource, ToldPipeline, cue, info, never, packet, phase, readout, running

OUTPUTS = {b"on": (phase(1.0), cue(1.0, sounding=True), readout(1.0)), b"frame": (readout(3.0),)}


class Room:
    """Two practices, each on a source fed by hand, each recorded."""

    def __init__(self, folder):
        self.sources = [HandSource(), HandSource()]
        self.tapes = [folder / "one.mcap", folder / "two.mcap"]
        self.pipelines = [ToldPipeline(OUTPUTS), ToldPipeline(OUTPUTS)]
        self.engines = [
            Engine(
                lambda source=source: source,
                view=LIVE,
                make_pipeline=lambda pipeline=pipeline: pipeline,
                tape=Tape(path),
                sleep=never,
            )
            for source, path, pipeline in zip(self.sources, self.tapes, self.pipelines, strict=True)
        ]


@pytest.fixture
async def room(tmp_path):
    return Room(tmp_path)


@pytest.fixture
async def service(room):
    async with running(*room.engines) as service:
        yield service


async def closed_with(client):
    with pytest.raises(ConnectionClosed) as gone:
        await client.next()
    return gone.value.rcvd.code, gone.value.rcvd.reason


async def test_each_practice_is_its_own(service, room):
    async with (
        service.client() as first,
        service.client(query="?bay=two") as second,
    ):
        assert [(await client.next())["bay"]["id"] for client in (first, second)] == ["one", "two"]
        room.sources[1].feed(packet(b"on"))
        await second.until_type("frame")
        assert [m["type"] for m in await first.pong(1)] == ["pong"]
    async with httpx.AsyncClient(trust_env=False) as http:
        health = (await http.get(f"{service.url}/api/health")).json()
    assert [(bay["id"], bay["frames"]) for bay in health["bays"]] == [("one", 0), ("two", 1)]


@pytest.mark.parametrize(
    ("path", "query", "code", "word"),
    [
        ("/ws/live", "?bay=three", 4404, "no practice"),
        ("/ws/board", "", 4403, "coach"),
        ("/ws/board", "?as=student", 4403, "coach"),
    ],
)
async def test_who_is_not_let_in_is_told_why(service, path, query, code, word):
    async with service.client(path=path, query=query) as client:
        got, reason = await closed_with(client)
    assert got == code
    assert word in reason


async def test_a_link_to_one_practice_opens_no_other(service):
    class Socket:
        def __init__(self, query):
            self.query_params, self.closed = query, None

        async def accept(self):
            pass

        async def close(self, code, reason):
            self.closed = code

    guest, rooms = Guest(bay="two"), Service(bays=service.bays)
    for query, bay_id, code in (({}, "two", None), ({"bay": "two"}, "two", None), ({"bay": "one"}, None, 4403)):
        asked = Socket(query)
        bay = await bay_for(asked, rooms, guest)
        assert (bay and bay.id, asked.closed) == (bay_id, code)


async def test_taking_over_is_told_to_both_and_refuses_the_other(service, room):
    async with service.client() as student, service.client(query="?as=coach") as coach:
        room.sources[0].feed(info(), packet(b"frame"))
        for client in (student, coach):
            await client.until_type("frame")
        await coach.say({"type": "look_ahead", "ms": 30})
        assert (await coach.until_type("problem"))["code"] == "not_in_control"
        await coach.say({"type": "control", "hold": True})
        for client in (student, coach):
            assert (await client.until_type("control"))["holder"] == "coach"
        await student.say({"type": "look_ahead", "ms": 30})
        assert (await student.until_type("problem"))["code"] == "not_in_control"
        await coach.say({"type": "say", "text": "Slower going back."})
        assert (await student.until_type("said"))["text"] == "Slower going back."
        await student.say({"type": "control", "hold": True})
        assert (await coach.until_type("control"))["reason"] == "taken_back"


async def test_too_many_notes_are_refused_and_not_recorded(service, room):
    room.sources[0].feed(packet(b"frame"))
    async with service.client() as client:
        for _ in range(BURST + 5):
            await client.say({"type": "note", "text": "Note.", "rep": None})
        got = await client.pong(9)
    notes = [m for m in got if m["type"] == "note"]
    refused = [m for m in got if m["type"] == "problem"]
    assert {m["code"] for m in refused} == {"too_fast"}
    assert len(notes) + len(refused) == BURST + 5
    assert BURST <= len(notes) < BURST + 5


async def test_the_board_has_all_in_order_and_the_newest_wins(service, room):
    async with service.client(path="/ws/board", query="?as=coach") as board:
        first = BoardMessage.model_validate(await board.next())
        assert [(bay.id, bay.name, bay.status) for bay in first.bays] == [
            ("one", "One", "waiting"), ("two", "Two", "waiting"),
        ]  # fmt: skip
        n = 40
        for index in range(1, n + 1):
            service.engine.hub.publish(samples.rep(index))
            await asyncio.sleep(EVERY_S / 20)
        seen = await board.until(lambda m: m["bays"][0]["n_reps"] == n)
        counts = [m["bays"][0]["n_reps"] for m in seen]
        assert counts == sorted(set(counts)), "told only when something has changed"
        assert len(counts) < n / 2, "reps in between are skipped"
        assert seen[-1]["bays"][0]["last_rep"]["index"] == n
        assert seen[-1]["bays"][1]["n_reps"] == 0
        with pytest.raises(TimeoutError):  # nothing changes, nothing is said
            async with asyncio.timeout(3 * EVERY_S):
                await board.socket.recv()


def deaf(port, bay):
    """Joins a practice like a page, with next to no room for what arrives, and never reads a byte."""
    client = socket.socket()
    client.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 2048)
    client.connect(("127.0.0.1", port))
    client.sendall(
        f"GET /ws/live?bay={bay} HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\nConnection: Upgrade\r\nUpgrade: websocket\r\n"
        "Sec-WebSocket-Key: dGhlIHNhbXBsZSBub25jZQ==\r\nSec-WebSocket-Version: 13\r\n\r\n".encode()  # RFC 6455, 1.3
    )
    return client


async def test_clients_that_never_read_hold_up_no_practice_and_are_given_up(service, room):
    hubs = [engine.hub for engine in room.engines]
    with deaf(service.port, "one"), deaf(service.port, "two"):
        while not all(hub.mailboxes for hub in hubs):
            await asyncio.sleep(0.01)
        silent = [hub.mailboxes[0] for hub in hubs]
        async with (
            service.client() as first,
            service.client(query="?bay=two") as second,
            service.client(path="/ws/board", query="?as=coach") as board,
        ):
            clients = (first, second)
            n_reps = 0
            while not all(mailbox.overflowed.is_set() for mailbox in silent):
                for hub in hubs:
                    for index in range(n_reps + 1, n_reps + 1 + MAX_EVENTS // 2):
                        hub.publish(samples.rep(index))
                n_reps += MAX_EVENTS // 2
                for source, client in zip(room.sources, clients, strict=True):
                    source.feed(packet(b"frame", n_reps))
                    got = await client.until(lambda m: m["type"] == "frame")
                    assert [m["index"] for m in got if m["type"] == "rep"][-1] == n_reps
            while any(hub.n_overflowed == 0 for hub in hubs):
                await asyncio.sleep(0.01)
            await board.until(lambda m: {bay["n_reps"] for bay in m["bays"]} == {n_reps})
            for hub, client in zip(hubs, clients, strict=True):
                hub.publish(samples.rep(n_reps + 1))
                assert (await client.until_type("rep"))["index"] == n_reps + 1
    for source in room.sources:
        await source.taken()
    assert not service.bugs


async def test_a_bug_in_one_practice_stops_all_and_closes_every_tape(room):
    class Broken(ToldPipeline):
        def push(self, event):
            if getattr(event, "payload", b"") == b"bug":
                raise ZeroDivisionError
            return super().push(event)

    room.engines[1]._telling.pipeline = Broken(OUTPUTS)
    room.engines[1]._make_pipeline = lambda: Broken(OUTPUTS)
    async with running(*room.engines) as service:
        room.sources[0].feed(packet(b"frame", 1), packet(b"frame", 2))
        await room.sources[0].taken()
        room.sources[1].feed(packet(b"frame", 1), packet(b"bug", 2))
        async with asyncio.timeout(20):
            while not service.bugs:
                await asyncio.sleep(0.01)
        # Before the service has been wound up: it is told only when every recording is whole.
        for path in room.tapes:
            report = ReadReport()
            assert len(list(read_events(path, report=report))) == 2
            assert report.is_clean
    (group,) = service.bugs
    assert [type(bug) for bug in group.exceptions] == [ZeroDivisionError]
