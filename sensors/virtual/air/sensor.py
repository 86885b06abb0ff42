"""A sensor of the open profile, without the radio around it: it takes commands and plays its packets.

It samples from its first start on, like a board that is never switched off: what falls due while nobody listens is lost,
and the sequence numbers say so.
"""

from __future__ import annotations

import asyncio
from collections.abc import Awaitable, Callable, Iterable
from dataclasses import asdict, dataclass
from typing import Final, Protocol

from sensors.profiles.open_imu import COMMAND_IDENTIFY, COMMAND_START, COMMAND_STOP
from sensors.virtual.stage.board import TimedPayload

COMMAND_RATE: Final = 0x03
COMMAND_GYR_RANGE: Final = 0x04
COMMAND_ACC_RANGE: Final = 0x05
"""Followed by the value, u16 little-endian: samples a second, deg/s, g."""

Send = Callable[[bytes], Awaitable[None]]


class BadCommand(Exception):
    """The sensor does not take this value."""


class Settings(Protocol):
    """What can be set on a board. Each raises ValueError for what it cannot do."""

    def set_rate(self, rate_hz: int) -> None:
        """Samples a second."""

    def set_gyr_range(self, range_deg_s: int) -> None:
        """Full scale of the gyroscope."""

    def set_acc_range(self, range_g: int) -> None:
        """Full scale of the accelerometer."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Identity:
    """What a sensor says of itself."""

    address: str
    name: str
    manufacturer: str = "Pitchbend"
    model: str = "virtual sensor"
    firmware: str = "virtual"
    battery_pct: int = 87
    lacks: tuple[str, ...] = ()
    """UUIDs of characteristics that this one was built without."""

    as_dict = asdict


class StartTogether:
    """Lets the sensors of a practice begin at the same moment: when each of them has been started."""

    def __init__(self, n_sensors: int) -> None:
        self._waiting = n_sensors
        self._all = asyncio.Event()

    async def wait(self) -> None:
        """Wait for the others; one that has waited does not wait again."""
        self._waiting -= 1
        if self._waiting <= 0:
            self._all.set()
        await self._all.wait()


class VirtualSensor:
    """Sends `packets` as they fall due, while it is started and someone listens.

    `settings` takes the rate and range commands; without it they are refused. `loses` is asked before each packet whether
    it gets lost; `identified` is told of the command to blink; `speed` makes all time run faster.
    """

    def __init__(
        self,
        identity: Identity,
        packets: Iterable[TimedPayload],
        send: Send,
        *,
        together: StartTogether | None = None,
        settings: Settings | None = None,
        loses: Callable[[], bool] | None = None,
        identified: Callable[[], None] | None = None,
        speed: float = 1.0,
    ) -> None:
        self.identity = identity
        self.battery_pct = identity.battery_pct
        self.commands: list[bytes] = []
        self.n_sent = 0
        self.n_lost = 0
        """Packets that `loses` took away."""
        self.silent = False
        """It has hung: connected, and nothing comes."""
        self._packets = packets
        self._send = send
        self._together = together or StartTogether(1)
        self._settings = settings
        self._loses = loses
        self._identified = identified
        self._speed = speed
        self._notifying = False
        self._started = False
        self._player: asyncio.Task[None] | None = None

    @property
    def listened_to(self) -> bool:
        """Someone has started it and listens."""
        return self._started and self._notifying

    def command(self, value: bytes) -> None:
        """Take a write to its control characteristic. Raises `BadCommand` for a value that it does not have."""
        self.commands.append(value)
        if value in (COMMAND_START, COMMAND_STOP):
            self._started = value == COMMAND_START
            self._play_if_wanted()
        elif value == COMMAND_IDENTIFY:
            if self._identified is not None:
                self._identified()
        elif value[:1] and value[0] in (COMMAND_RATE, COMMAND_GYR_RANGE, COMMAND_ACC_RANGE):
            self._set(value)

    def notify(self, on: bool) -> None:  # noqa: FBT001
        """Note that its data notifications were switched on or off."""
        self._notifying = on
        self._play_if_wanted()

    def disconnected(self) -> None:
        """Note that nobody is there any more."""
        self._started = False
        self._notifying = False

    def close(self) -> None:
        """Send no more."""
        if self._player is not None:
            self._player.cancel()

    def _set(self, value: bytes) -> None:
        if self._settings is None or len(value) != 3:
            raise BadCommand
        setters = {
            COMMAND_RATE: self._settings.set_rate,
            COMMAND_GYR_RANGE: self._settings.set_gyr_range,
            COMMAND_ACC_RANGE: self._settings.set_acc_range,
        }
        try:
            setters[value[0]](int.from_bytes(value[1:], "little"))
        except ValueError as error:
            raise BadCommand from error

    def _play_if_wanted(self) -> None:
        if self.listened_to and self._player is None:
            self._player = asyncio.create_task(self._play(), name=f"plays {self.identity.name}")

    async def _play(self) -> None:
        await self._together.wait()
        loop = asyncio.get_running_loop()
        began_s = loop.time()
        for due_s, payload in self._packets:
            wait_s = began_s + due_s / self._speed - loop.time()
            await asyncio.sleep(max(wait_s, 0.0))  # also when late: a machine that was asleep must not send in one go
            if not self.listened_to or self.silent:
                continue
            if self._loses is not None and self._loses():
                self.n_lost += 1
                continue
            self.n_sent += 1
            await self._send(payload)
