"""For tests of the service: a source fed by hand, a pipeline that says what it is told, and the real service on a free port."""

from __future__ import annotations

import asyncio
import json
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from dataclasses import dataclass

import uvicorn
from websockets.asyncio.client import ClientConnection, connect

from fusion.calibration.session import FitStatus
from fusion.drills.course import Course
from fusion.outputs.cue import CueChange
from fusion.outputs.instant import Angles, Doubt, Phase, Readout
from fusion.outputs.output import Output
from fusion.outputs.rep import PhaseChange
from sensors.events import LinkChange, LinkReason, LinkState, RawPacket, SensorInfo, SourceEvent
from sensors.health import HealthLog
from sensors.ids import Role, SensorId
from server.app import make_app
from server.bays.bay import Bays
from server.bays.local_bay import LocalBay
from server.drills import default_drill
from server.engine import Engine
from server.web import HOST, config_of
from server.wire import SourceView
from tests.serving import serving

SENSOR = SensorId("AA:01")
LIVE = SourceView(kind="live", name="Bluetooth", speed=1.0)
REPLAY = SourceView(kind="replay", name="evening.mcap", speed=1.0)
NAMES = ("one", "two", "three", "four", "five", "six")
DEMO = SourceView(kind="demo", name="evening", speed=1.0)


class HandSource:
    """Gives what it is fed: `feed(...)`, then `await taken()`."""

    def __init__(self) -> None:
        self.is_open = False
        self._queue: asyncio.Queue[SourceEvent | Exception | None] = asyncio.Queue()

    async def __aenter__(self):
        self.is_open = True
        return self

    async def __aexit__(self, *_):
        self.is_open = False

    async def __aiter__(self):
        while (event := await self._queue.get()) is not None:
            if isinstance(event, Exception):
                raise event
            yield event
            self._queue.task_done()

    def feed(self, *events: SourceEvent | Exception) -> None:
        for event in events:
            self._queue.put_nowait(event)

    def end(self) -> None:
        self._queue.put_nowait(None)

    async def taken(self) -> None:
        """Everything fed has been through the engine."""
        await self._queue.join()


class ToldPipeline:
    """Answers each event with the outputs that its payload's number stands for."""

    def __init__(self, outputs: dict[bytes, tuple[Output, ...]] | None = None) -> None:
        self.drill = default_drill()
        self.course = Course()
        self.lead_s = 0.0
        self.fit = FitStatus(taken=(), complete=False)
        self.player = None
        self.may_fit = False
        self.pushed: list[SourceEvent] = []
        self.outputs = outputs or {}
        self._health = HealthLog()

    def push(self, event: SourceEvent) -> tuple[Output, ...]:
        self.pushed.append(event)
        if isinstance(event, SensorInfo):
            self._health.introduce(event)
        self._health.note(event)
        return self.outputs.get(event.payload, ()) if isinstance(event, RawPacket) else ()

    def health(self, now_ns: int):
        return self._health.at(now_ns)

    def standing(self, t_s: float):
        return None


def packet(payload: bytes = b"", arrival_ns: int = 0, sensor: SensorId = SENSOR) -> RawPacket:
    return RawPacket(arrival_ns=arrival_ns, sensor=sensor, payload=payload)


def info(arrival_ns: int = 0, sensor: SensorId = SENSOR) -> SensorInfo:
    return SensorInfo(arrival_ns=arrival_ns, sensor=sensor, role=Role.CLUB, profile="open-imu-1", name="clip")


def link(state: LinkState, reason: LinkReason = LinkReason.NONE, arrival_ns: int = 0) -> LinkChange:
    return LinkChange(arrival_ns=arrival_ns, sensor=SENSOR, state=state, reason=reason)


def readout(t_s: float = 0.0, doubt: Doubt = Doubt.NONE, phase: Phase = Phase.TAKEAWAY, **changes) -> Readout:
    given = {"angles": Angles(), "pitch_doubt": doubt, "since_rest_s": 0.5} | changes
    return Readout(arrival_ns=0, t_s=t_s, phase=phase, doubt=doubt, **given)


def cue(t_s: float, *, sounding: bool, error_rad: float = -0.1) -> CueChange:
    return CueChange(arrival_ns=0, t_s=t_s, sounding=sounding, error_rad=error_rad if sounding else 0.0)


def phase(t_s: float, which: Phase = Phase.TAKEAWAY) -> PhaseChange:
    return PhaseChange(arrival_ns=0, t_s=t_s, phase=which)


async def never(_: float) -> None:
    """A sleep for tests in which no time passes."""
    await asyncio.Event().wait()


async def drain(mailbox) -> list[dict]:
    """Everything that waits in a mailbox."""
    out = []
    while mailbox.has_mail:
        out.append(json.loads(await mailbox.take()))
    return out


@dataclass
class Running:
    """The real service."""

    engine: Engine
    """Of the first practice."""
    bays: Bays
    port: int
    server: uvicorn.Server
    bugs: list[Exception]

    @property
    def url(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    @asynccontextmanager
    async def client(
        self, *, name: str = "127.0.0.1", path: str = "/ws/live", query: str = "", **options
    ) -> AsyncIterator[Client]:
        """Connect, calling the service by that name."""
        if "sock" not in options:
            options |= {"host": "127.0.0.1", "port": self.port}
        uri = f"ws://{name}:{self.port}{path}{query}"
        async with connect(uri, compression=None, proxy=None, **options) as socket:
            yield Client(socket)


class Client:
    """A websocket client that waits for what it wants."""

    def __init__(self, socket: ClientConnection) -> None:
        self.socket = socket

    async def next(self) -> dict:
        async with asyncio.timeout(20):
            text = await self.socket.recv()
        assert isinstance(text, str)
        return json.loads(text)

    async def until(self, wanted: Callable[[dict], bool]) -> list[dict]:
        """All messages up to the wanted one, which is the last."""
        seen = [await self.next()]
        while not wanted(seen[-1]):
            seen.append(await self.next())
        return seen

    async def until_type(self, name: str) -> dict:
        return (await self.until(lambda message: message["type"] == name))[-1]

    async def say(self, message: object) -> None:
        await self.socket.send(json.dumps(message))

    async def pong(self, token: int) -> list[dict]:
        """Ask for a pong: what comes before it came of what was said before."""
        await self.say({"type": "ping", "token": token})
        return await self.until(lambda message: message == {"type": "pong", "token": token})


@asynccontextmanager
async def running(*engines: Engine, at: str = HOST, **app_options) -> AsyncIterator[Running]:
    """Practices called `one`, `two` and so on."""
    bays = Bays([LocalBay(engine, id=name, name=name.title()) for engine, name in zip(engines, NAMES, strict=False)])
    bugs: list[Exception] = []

    def on_bug(bug):
        bugs.append(bug)
        server.should_exit = True

    server = uvicorn.Server(config_of(make_app(bays, on_bug=on_bug, **app_options)))
    async with serving(server, at) as port:
        yield Running(engines[0], bays, port, server, bugs)
