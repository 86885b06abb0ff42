"""The virtual sensor of the product, as a board of any kind, and one that can be laid on a table."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from sensors.profiles.open_imu import pack, unpack
from sensors.virtual.air import sensor
from sensors.virtual.air.sensor import Send, StartTogether
from sensors.virtual.stage.board import TimedPayload
from tests.integration.ble.boards import BOARDS


@dataclass(frozen=True, slots=True, kw_only=True)
class Identity(sensor.Identity):
    manufacturer: str = "Lark & Sedge"
    model: str = "Reedling 6"
    firmware: str = "1.4.2"
    kind: str = "open-imu-1"
    """A key of `BOARDS`."""


class VirtualSensor(sensor.VirtualSensor):
    def __init__(
        self, identity: Identity, packets: Iterable[TimedPayload], send: Send, *, together: StartTogether | None = None
    ) -> None:
        async def send_as_it_lies(payload: bytes) -> None:
            await send(unturned(payload) if self.at_rest else payload)

        super().__init__(identity, packets, send_as_it_lies, together=together)
        self.at_rest = False
        """It lies on a table: what it sends is turned no more."""
        self._board = BOARDS[identity.kind]

    def command(self, value: bytes) -> None:
        """A write to its control characteristic."""
        self.commands.append(value)
        if self._board.starts(value) or self._board.stops(value):
            self._started = self._board.starts(value)
            self._play_if_wanted()


def unturned(payload: bytes) -> bytes:
    """The same packet of a sensor that did not turn."""
    packet = unpack(payload)
    counts = packet.counts.copy()
    counts[:, :3] = 0
    return pack(sequence=packet.sequence, clock_us=packet.clock_us, counts=counts)
