"""The firmware's core behind a virtual controller: its own bytes on the air, from a fake IMU that runs in real time."""

from __future__ import annotations

import asyncio

from bumble.att import ATT_Error
from bumble.device import Connection
from bumble.link import LocalLink

from sensors.virtual.air.peripheral import BumblePeripheral
from tests.firmware.board import Board, Core
from tests.firmware.fake_imu import FakeImu
from tests.integration.ble.virtual_sensor import Identity, Send, VirtualSensor

POLL_S = 0.01


class FirmwareSensor(VirtualSensor):
    """Commands and notifications go to the core; what it wants to send is sent."""

    def __init__(self, identity: Identity, core: Core, send: Send) -> None:
        super().__init__(identity, (), send)
        self.board = Board(core, FakeImu(rate_error=0.01))
        self._clock_task = asyncio.create_task(self._tick(), name="firmware")

    def connected(self) -> None:
        self.board.connect(start=False)

    def command(self, value: bytes) -> None:
        self.commands.append(value)
        answer = self.board.control(value)
        if answer:
            raise ATT_Error(answer)

    def notify(self, on: bool) -> None:
        self.board.notify(on)

    def disconnected(self) -> None:
        self.board.disconnect()

    def close(self) -> None:
        self._clock_task.cancel()

    async def _tick(self) -> None:
        loop = asyncio.get_running_loop()
        offset_us = self.board.imu.now_us - loop.time() * 1e6
        while True:
            await asyncio.sleep(POLL_S)
            self.board.imu.pass_to(loop.time() * 1e6 + offset_us)
            self.board.poll()
            for _, payload in self.board.sent[self.n_sent :]:
                self.n_sent += 1
                await self._send(payload)


class FirmwarePeripheral(BumblePeripheral):
    sensor: FirmwareSensor

    def __init__(self, identity: Identity, core: Core, air: LocalLink) -> None:
        super().__init__(identity, (), air)
        self.sensor = FirmwareSensor(identity, core, self._send_samples)

    def _connected(self, connection: Connection) -> None:
        self.sensor.connected()
        super()._connected(connection)
