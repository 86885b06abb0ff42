"""The real service on a free port, and real websocket clients: what a page lives through, and what an enemy may try."""

from __future__ import annotations

import asyncio
import errno
import json
import socket
from pathlib import Path

import httpx
import pytest
from websockets.exceptions import ConnectionClosed, InvalidStatus

from sensors.ids import Move
from sensors.record.sink import RecordSink
from sensors.record.writer import Recorder
from sensors.sources.replay import ReplaySource
from server.engine import Engine
from server.mailbox import MAX_EVENTS, MAX_UNACKNOWLEDGED
from server.tape import Tape
from server.wire import PROTOCOL_VERSION, SERVER_MESSAGE, CueMessage
from tests.e2e import samples
from tests.live_service import (
    DEMO,
    LIVE,
    HandSource,
    ToldPipeline,
    cue,
    info,
    never,
    packet,
    phase,
    readout,
    running,
)
from tests.virtual import virtual_run

OUTPUTS = {
    b"on": (phase(1.0), cue(1.0, sounding=True), readout(1.0)),
    b"off": (cue(2.0, sounding=False), readout(2.0)),
    b"frame": (readout(3.0),),
}


@pytest.fixture
def source():
    return HandSource()


@pytest.fixture
async def service(source):
    engine = Engine(lambda: source, view=LIVE, make_pipeline=lambda: ToldPipeline(OUTPUTS), sleep=never)
    async with running(engine) as service:
        yield service


def types(messages):
    return [message["type"] for message in messages]


async def test_hello_then_the_stream_in_order(service, source):
    async with service.client() as client:
        assert (await client.next())["type"] == "hello"
        source.feed(packet(b"on"), packet(b"off"))
        got = await client.until(lambda m: m["type"] == "frame" and not m["sounding"])
        assert [m for m in types(got) if m != "frame"] == ["phase", "cue", "cue"]
        for message in got:
            SERVER_MESSAGE.validate_json(json.dumps(message))
        on, off = (i for i, m in enumerate(got) if m["type"] == "cue")
        assert all(m["sounding"] for m in got[on:off] if m["type"] == "frame")


async def test_a_late_joiner_has_everything(service, source):
    source.feed(info(), packet(b"on"))
    await source.taken()
    service.engine.hub.publish(samples.rep(1))
    async with service.client() as client:
        hello = await client.next()
    assert hello["frame"]["sounding"]
    assert [rep["index"] for rep in hello["reps"]] == [1]
    assert hello["drill"]["name"]


async def test_two_clients_hear_the_same(service, source):
    async with service.client() as one, service.client() as two:
        for client in (one, two):
            await client.next()
        source.feed(packet(b"on"))
        heard = [await client.until_type("frame") for client in (one, two)]
        assert heard[0] == heard[1]
    async with service.client() as three:
        await three.next()
        assert len(service.engine.hub.mailboxes) <= 3


async def test_a_client_that_leaves_is_forgotten(service, source):
    for leave in ("close", "abort"):
        async with service.client() as client:
            await client.next()
            if leave == "abort":
                client.socket.transport.abort()
        while service.engine.hub.mailboxes:
            source.feed(packet(b"frame"))
            await asyncio.sleep(0)
    async with service.client() as client:
        assert (await client.next())["type"] == "hello"


BAD = (
    '{"type": "ack", "seq": NaN}',
    '{"type": "ping", "token": Infinity}',
    '{"type": "dance"}',
    '{"no": "type"}',
    "not json",
    "",
    "[" * 3000,
    "\x00",
    '{"type": "ack", "seq": 1}' + " " * 5000,
    b'{"type": "ack", "seq": 1}',
    b"\xff\xfe",
)


async def test_what_is_not_in_the_contract_is_answered_and_counted(service):
    async with service.client() as client, httpx.AsyncClient(trust_env=False) as http:
        await client.next()
        for n, bad in enumerate(BAD, start=1):
            await client.socket.send(bad)
            problem, _ = await client.pong(n)
            assert (problem["type"], problem["code"]) == ("problem", "bad_message"), bad
            assert (await http.get(f"{service.url}/api/health")).json()["bad_messages"] == n
        assert len(await client.pong(0)) == 1


async def test_what_ends_the_connection_harms_nobody_else(service, source):
    async with service.client() as well:
        await well.next()
        for bad in ("x" * 100_000, [b"\xff", b"\xfe"]):
            async with service.client() as client:
                await client.next()
                await client.socket.send(bad, text=True)
                with pytest.raises(ConnectionClosed):
                    await client.until_type("no such type")
        source.feed(packet(b"on"))
        await well.until_type("cue")


async def test_a_flood_of_nonsense_is_only_counted(service, source):
    async with service.client() as well, service.client() as flood:
        await well.next()
        for _ in range(2000):
            await flood.socket.send("nonsense")
        source.feed(packet(b"on"))
        await well.until_type("cue")
        async with httpx.AsyncClient(trust_env=False) as http:
            while (await http.get(f"{service.url}/api/health")).json()["bad_messages"] < 2000:
                pass
    assert service.bugs == []


async def test_a_page_from_elsewhere_is_refused(service):
    for origin in ("http://evil.example", "http://127.0.0.1:1", "https://localhost", "null", "file://"):
        with pytest.raises(InvalidStatus) as caught:
            async with service.client(origin=origin):
                pass
        assert caught.value.response.status_code == 403, origin
    async with httpx.AsyncClient(trust_env=False) as http:
        assert (await http.get(f"{service.url}/api/health")).json()["refused_origins"] == 5


async def test_the_own_page_is_let_in(service):
    async with service.client(origin=service.url) as client:
        assert (await client.next())["type"] == "hello"


async def test_another_name_for_this_machine_is_refused(service):
    with pytest.raises(InvalidStatus) as caught:
        async with service.client(name="evil.example"):
            pass
    assert caught.value.response.status_code == 400
    async with httpx.AsyncClient(trust_env=False) as http:
        assert (await http.get(service.url, headers={"Host": "evil.example"})).status_code == 400
        assert (await http.get(service.url, headers={"Host": "localhost:1"})).status_code != 400


async def test_small_messages_are_not_held_back_by_the_system(service):
    """With Nagle's algorithm on, a frame right after a cue would wait 40 ms for the other side's delayed confirmation."""
    async with service.client() as client:
        await client.next()
        (connection,) = service.server.server_state.connections
        accepted = connection.transport.get_extra_info("socket")
        assert accepted.getsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY) == 1


async def test_pings_and_moves(service, source):
    async with service.client() as client:
        await client.next()
        assert await client.pong(42) == [{"type": "pong", "token": 42}]
        await client.say({"type": "move", "move": "still"})
        await client.pong(43)
    (move,) = service.engine.pipeline.pushed
    assert move.move is Move.STILL


ASKED = (
    {"type": "move", "move": "still"},
    {"type": "drill", "id": "flatter-shaft"},
    {"type": "look_ahead", "ms": 20},
    {"type": "choose", "open": True},
    {"type": "place", "sensor": "AA:01", "role": "club"},
    {"type": "swap"},
    {"type": "blink", "sensor": "AA:01"},
)


async def test_a_viewer_only_watches(service, source):
    async with service.client(query="?as=viewer") as viewer, service.client(query="?as=student") as student:
        await viewer.next()
        await student.next()
        for n, asked in enumerate(ASKED):
            await viewer.say(asked)
            problem, _ = await viewer.pong(n)
            assert (problem["type"], problem["code"]) == ("problem", "viewers_watch"), asked
        await viewer.say({"type": "ack", "seq": 0})
        assert len(await viewer.pong(100)) == 1
        assert service.engine.pipeline.pushed == []
        await student.say(ASKED[0])
        assert not any(m.get("code") == "viewers_watch" for m in await student.pong(1))
        source.feed(packet(b"on"))
        await viewer.until_type("cue")
    assert len(service.engine.pipeline.pushed) == 2


async def test_a_client_that_acknowledges_is_never_sent_far_ahead(service):
    async with service.client() as client:
        await client.next()
        await client.say({"type": "ack", "seq": 0})
        await client.pong(1)
        hub = service.engine.hub
        for seq in range(1, 3 * MAX_UNACKNOWLEDGED):
            hub.publish(samples.frame(seq=seq))
            while hub.mailboxes[0].has_mail:
                await asyncio.sleep(0)
        got = await client.pong(2)
        assert [m["seq"] for m in got[:-1]] == list(range(1, MAX_UNACKNOWLEDGED + 1))
        await client.say({"type": "ack", "seq": MAX_UNACKNOWLEDGED})
        await client.pong(3)
        hub.publish(samples.frame(seq=1000))
        assert (await client.next())["seq"] == 1000


def deaf_socket(port):
    """A connection with next to no room for what arrives."""
    deaf = socket.socket()
    deaf.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 2048)
    deaf.connect(("127.0.0.1", port))
    deaf.setblocking(False)
    return deaf


async def test_a_client_that_never_reads_holds_up_nobody_and_is_given_up(service):
    hub = service.engine.hub
    async with service.client(sock=deaf_socket(service.port), max_queue=1, close_timeout=0):
        while not hub.mailboxes:
            await asyncio.sleep(0)
        (deaf,) = hub.mailboxes
        async with service.client() as well:
            await well.next()
            seq = 0
            while deaf.n_missed < 100:
                seq += 1
                hub.publish(samples.frame(seq=seq))
                assert (await well.next())["seq"] == seq
            for i in range(MAX_EVENTS + 1):
                hub.publish(CueMessage(t_s=float(i), sounding=True, error_deg=1.0))
                assert (await well.next())["t_s"] == i
            assert deaf.overflowed.is_set()
            while len(hub.mailboxes) > 1:
                await asyncio.sleep(0)
            assert hub.n_overflowed == 1
            hub.publish(samples.frame(seq=seq + 1))
            assert (await well.next())["seq"] == seq + 1


async def test_a_slow_client_that_falls_behind_is_told_to_come_back(service):
    hub = service.engine.hub
    async with service.client() as client:
        await client.next()
        for _ in range(MAX_EVENTS + 1):  # at one go: its sender has no turn
            hub.publish(CueMessage(t_s=0.0, sounding=True, error_deg=1.0))
        with pytest.raises(ConnectionClosed) as caught:
            await client.until_type("no such type")
        assert caught.value.rcvd is not None
        assert caught.value.rcvd.code == 1013
    async with service.client() as client:
        assert (await client.next())["type"] == "hello"


async def test_a_full_disk_is_announced_and_the_stream_goes_on(tmp_path, monkeypatch):
    source = HandSource()
    engine = Engine(
        lambda: source,
        view=LIVE,
        tape=Tape(tmp_path / "a.mcap"),
        make_pipeline=lambda: ToldPipeline(OUTPUTS),
        sleep=lambda _: asyncio.sleep(0.005),
    )

    def full_disk(*_):
        raise OSError(errno.ENOSPC, "No space left on device")

    async with running(engine) as service, service.client() as client:
        assert (await client.next())["recording"] == str(tmp_path / "a.mcap")
        source.feed(info())
        await source.taken()
        monkeypatch.setattr(RecordSink, "write", full_disk)
        source.feed(info())
        got = await client.until_type("problem")
        source.feed(packet(b"on"))
        assert got["code"] == "recording_stopped"
        assert "disk is full" in got["text"]
        await client.until_type("cue")
        async with service.client() as late:
            hello, problem = await late.next(), await late.next()
            assert (hello["recording"], problem) == (None, got)


async def test_a_demo_repeats_over_the_socket():
    sources = [HandSource(), HandSource()]
    left = iter(sources)
    engine = Engine(
        lambda: next(left), view=DEMO, repeat=True, make_pipeline=lambda: ToldPipeline(OUTPUTS), sleep=never
    )
    async with running(engine) as service, service.client() as client:
        await client.next()
        sources[0].feed(packet(b"on", arrival_ns=10**12))
        sources[0].end()
        got = await client.until_type("end")
        assert got["again"]
        sources[1].feed(packet(b"frame"))
        assert (await client.until_type("frame"))["t_s"] == 3.0
        await client.say({"type": "move", "move": "still"})
        assert (await client.until_type("problem"))["code"] == "move_refused"


async def test_a_bug_stops_the_service(service, source):
    def bug(_):
        raise ZeroDivisionError

    service.engine.pipeline.push = bug
    async with service.client() as client:
        await client.next()
        source.feed(packet())
        with pytest.raises(ConnectionClosed):
            await client.until_type("no such type")
    (group,) = service.bugs
    assert isinstance(group.exceptions[0], ZeroDivisionError)
    assert service.server.should_exit


async def test_a_practice_through_the_whole_path(tmp_path):
    """Raw packets of a virtual pair in; reps, cues, angles in degrees out."""
    run = virtual_run(3, 2)
    with Recorder(tmp_path / "a.mcap") as recorder:
        for event in run.events:
            recorder.write(event)
    started = asyncio.Event()

    class Waiting(ReplaySource):
        async def __aenter__(self):
            await started.wait()
            return await super().__aenter__()

    engine = Engine(lambda: Waiting(tmp_path / "a.mcap", speed=0.0), view=DEMO)
    async with running(engine) as service, service.client() as client:
        await client.next()
        started.set()
        got = await client.until(lambda m: m["type"] == "end")
    assert [m["index"] for m in got if m["type"] == "rep"] == [rep.index for rep in run.reps]
    cues = [m["sounding"] for m in got if m["type"] == "cue"]
    assert cues
    assert cues == [i % 2 == 0 for i in range(len(cues))]
    assert [m["player"]["name"] for m in got if m["type"] == "hello"] == ["Test Player"]
    for message in got:
        SERVER_MESSAGE.validate_json(json.dumps(message))


@pytest.fixture
def page(tmp_path: Path):
    return tmp_path / "static"


@pytest.fixture
async def served_page(page):
    engine = Engine(HandSource, view=LIVE, sleep=never)
    async with running(engine, page=page) as service, httpx.AsyncClient(base_url=service.url, trust_env=False) as http:
        yield http


async def test_a_page_that_was_not_built_says_how(served_page, page):
    answer = await served_page.get("/")
    assert answer.status_code == 503
    assert "python3 -m server demo" in answer.text
    assert answer.headers["cache-control"] == "no-store"
    assert (await served_page.get("/favicon.ico")).status_code == 404
    page.mkdir()  # it is built meanwhile
    (page / "index.html").write_text("<p>here</p>")
    answer = await served_page.get("/")
    assert (answer.status_code, answer.text) == (200, "<p>here</p>")


async def test_caching_and_security_headers(served_page, page):
    (page / "assets").mkdir(parents=True)
    (page / "assets" / "index-1a2b.js").write_text("1")
    (page / "index.html").write_text("<p>here</p>")
    (page / "favicon.svg").write_text("<svg/>")
    kept = {}
    for path in ("/", "/index.html", "/assets/index-1a2b.js", "/favicon.svg", "/api/health", "/nothing-here"):
        answer = await served_page.get(path)
        kept[path] = answer.headers.get("cache-control")
        assert "default-src 'self'" in answer.headers["content-security-policy"]
        assert "script-src" not in answer.headers["content-security-policy"]
        assert answer.headers["x-content-type-options"] == "nosniff"
    assert kept["/"] == kept["/index.html"] == kept["/api/health"] == "no-store"
    assert "immutable" in kept["/assets/index-1a2b.js"]
    assert kept["/favicon.svg"] == "no-cache"
    assert (await served_page.get("/../app.py")).status_code == 404
    assert (await served_page.get("/%2e%2e/%2e%2e/etc/passwd")).status_code == 404
    assert (await served_page.post("/")).status_code == 405


async def test_health_counts(service, source):
    async with service.client() as client:
        await client.next()
        source.feed(info(), packet(b"on"))
        await client.until_type("frame")
        async with httpx.AsyncClient(trust_env=False) as http:
            health = (await http.get(f"{service.url}/api/health")).json()
    (bay,) = health["bays"]
    assert (bay["events"], bay["packets"], bay["frames"]) == (2, 1, 1)
    assert (health["protocol"], bay["clients_joined"]) == (PROTOCOL_VERSION, 1)
    assert [sensor["role"] for sensor in bay["sensors"]] == []  # none told yet: the clock stands still here
    (one,) = bay["clients"]
    assert one == {
        "sent": 4, "missed_frames": 0, "dropped_events": 0, "waiting_events": 0, "unacknowledged_frames": 0,
    }  # fmt: skip
