"""A sensor of the open profile, without the radio around it: it takes commands and plays its packets.

It samples from its first start on, like a board that is never switched off: what falls due while nobody listens is lost,
and the sequence numbers say so.
"""

from __future__ import annotations

import asyncio
from collections.abc import Awaitable, Callable, Iterable
from dataclasses import asdict, dataclass

from sensors.profiles.open_imu import pack, unpack
from tests.integration.ble.boards import BOARDS
from tests.integration.ble.packet_supply import TimedPayload

Send = Callable[[bytes], Awaitable[None]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Identity:
    address: str
    name: str
    manufacturer: str = "Lark & Sedge"
    model: str = "Reedling 6"
    firmware: str = "1.4.2"
    battery_pct: int = 87
    lacks: tuple[str, ...] = ()
    """UUIDs of characteristics that this one was built without."""
    kind: str = "open-imu-1"
    """A key of `BOARDS`."""

    as_dict = asdict


FOREARM = Identity(address="C0:00:00:00:00:0A", name="Reed A")
CLUB = Identity(address="C0:00:00:00:00:0B", name="Reed B")


class StartTogether:
    """Lets the sensors of a practice begin at the same moment: when each of them has been started."""

    def __init__(self, n_sensors: int) -> None:
        self._waiting = n_sensors
        self._all = asyncio.Event()

    async def wait(self) -> None:
        self._waiting -= 1
        if self._waiting <= 0:
            self._all.set()
        await self._all.wait()


class VirtualSensor:
    def __init__(
        self, identity: Identity, packets: Iterable[TimedPayload], send: Send, *, together: StartTogether | None = None
    ) -> None:
        self.identity = identity
        self.battery_pct = identity.battery_pct
        self.commands: list[bytes] = []
        self.n_sent = 0
        self.silent = False
        """It has hung: connected, and nothing comes."""
        self.at_rest = False
        """It lies on a table: what it sends is turned no more."""
        self._packets = packets
        self._send = send
        self._together = together or StartTogether(1)
        self._notifying = False
        self._started = False
        self._player: asyncio.Task[None] | None = None

    def command(self, value: bytes) -> None:
        """A write to its control characteristic."""
        self.commands.append(value)
        board = BOARDS[self.identity.kind]
        if board.starts(value) or board.stops(value):
            self._started = board.starts(value)
            self._play_if_wanted()

    def notify(self, on: bool) -> None:
        """Its data notifications were switched on or off."""
        self._notifying = on
        self._play_if_wanted()

    def disconnected(self) -> None:
        self._started = False
        self._notifying = False

    def close(self) -> None:
        if self._player is not None:
            self._player.cancel()

    def _play_if_wanted(self) -> None:
        if self._started and self._notifying and self._player is None:
            self._player = asyncio.create_task(self._play(), name=f"plays {self.identity.name}")

    async def _play(self) -> None:
        await self._together.wait()
        loop = asyncio.get_running_loop()
        began_s = loop.time()
        for due_s, payload in self._packets:
            wait_s = began_s + due_s - loop.time()
            if wait_s > 0.0:
                await asyncio.sleep(wait_s)
            if self._started and self._notifying and not self.silent:
                self.n_sent += 1
                await self._send(unturned(payload) if self.at_rest else payload)


def unturned(payload: bytes) -> bytes:
    """The same packet of a sensor that did not turn."""
    packet = unpack(payload)
    counts = packet.counts.copy()
    counts[:, :3] = 0
    return pack(sequence=packet.sequence, clock_us=packet.clock_us, counts=counts)
