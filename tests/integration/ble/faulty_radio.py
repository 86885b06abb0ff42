"""The virtual controller with what a radio does to people: bodies in the way, an adapter switched off, boards that reboot.

The only file of the soak that knows Bumble.
"""

from __future__ import annotations

import asyncio
import logging
import sys
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any, ClassVar

import pytest
from bleak.backends.characteristic import BleakGATTCharacteristic
from bleak.backends.client import BaseBleakClient, NotifyCallback
from bleak.backends.scanner import BaseBleakScanner
from bleak.exc import BleakBluetoothNotAvailableError, BleakBluetoothNotAvailableReason, BleakError
from bumble.controller import Controller
from bumble.core import PhysicalTransport
from bumble.device import Advertisement
from bumble.hci import Address, HCI_Object

from sensors.profiles.open_imu import DATA_UUID
from sensors.sources.ble_bumble import BumbleClient, BumbleRadio, BumbleScanner
from sensors.virtual.air.link import IntervalAir
from sensors.virtual.air.peripheral import BumblePeripheral
from tests.integration.ble.packet_faults import Book, PacketFaults
from tests.integration.ble.traced_board import TracedBoard
from tests.integration.ble.virtual_sensor import Identity

_log = logging.getLogger("bumble")

SUPERVISION_S = 0.42
"""After so long without a word both sides give a link up: Linux's default, as seen in bug reports."""


class FaultyAir(IntervalAir):
    """Can hold what a sensor says and hears. The link layer repeats until it got through, so it comes late, not never."""

    def __init__(self, interval_s: float) -> None:
        super().__init__(interval_s)
        self._blocked: set[str] = set()

    def block(self, address: str, on: bool) -> None:
        (self._blocked.add if on else self._blocked.discard)(address)

    def clear(self, address: str) -> None:
        """The link is down, and takes what was under way with it."""
        self._waiting = [entry for entry in self._waiting if address not in _ends(entry)]

    def _connection_event(self) -> None:
        held = [entry for entry in self._waiting if not self._blocked.isdisjoint(_ends(entry))]
        if not held:
            super()._connection_event()
            return
        self._waiting = [entry for entry in self._waiting if self._blocked.isdisjoint(_ends(entry))]
        super()._connection_event()
        self._waiting = held
        loop = asyncio.get_running_loop()
        loop.call_at((round(loop.time() / self._interval_s) + 1) * self._interval_s, self._connection_event)


def _ends(entry: tuple[Controller, Address, PhysicalTransport, bytes]) -> set[str]:
    sender, destination, _, _ = entry
    return {sender.random_address.to_string(False), destination.to_string(False)}


class FaultyRadio(BumbleRadio):
    """The host's adapter."""

    def __init__(self, *arguments: Any) -> None:
        super().__init__(*arguments)
        self.powered = True
        self.books: dict[str, Book] = {}
        self.refusals: Counter[str] = Counter()
        """How many of the next connections to an address fail."""

    async def power(self, on: bool) -> None:
        self.powered = on
        if not on:
            for connection in list(self.device.connections.values()):
                await connection.disconnect()

    def must_be_powered(self) -> None:
        if not self.powered:
            raise BleakBluetoothNotAvailableError("it is off", BleakBluetoothNotAvailableReason.POWERED_OFF)

    def backends(self) -> tuple[type[BaseBleakScanner], type[BaseBleakClient]]:
        return type("Scanner", (FaultyScanner,), {"radio": self}), type("Client", (FaultyClient,), {"radio": self})


class FaultyScanner(BumbleScanner):
    radio: ClassVar[FaultyRadio]

    async def start(self) -> None:
        self.radio.must_be_powered()
        await super().start()

    def _heard(self, advertisement: Advertisement) -> None:
        if self.radio.powered:  # a scan that lives through the adapter going off hears nothing more
            super()._heard(advertisement)


class FaultyClient(BumbleClient):
    """Notes every notification of samples at the border between the radio and the program."""

    radio: ClassVar[FaultyRadio]

    async def connect(self, pair: bool, **options: Any) -> None:
        self.radio.must_be_powered()
        if self.radio.refusals[self.address] > 0:
            self.radio.refusals[self.address] -= 1
            raise BleakError("failed to establish a connection")
        await super().connect(pair, **options)
        if not self.radio.powered:
            await self.disconnect()
            raise BleakError("the adapter went off meanwhile")

    async def start_notify(
        self, characteristic: BleakGATTCharacteristic, callback: NotifyCallback, **options: Any
    ) -> None:
        loop = asyncio.get_running_loop()
        delivered = self.radio.books[self.address].delivered

        def noted(value: bytearray) -> None:
            delivered.append((host_ns(loop), bytes(value)))
            callback(value)

        wanted = noted if characteristic.uuid == DATA_UUID else callback
        await super().start_notify(characteristic, wanted, **options)


class FaultyPeripheral(BumblePeripheral):
    """A traced board behind a radio that can be told to misbehave."""

    def __init__(
        self, identity: Identity, board: TracedBoard, air: FaultyAir, faults: PacketFaults, book: Book
    ) -> None:
        super().__init__(identity, board, air)
        self.address = identity.address
        self.board = board
        self.book = book
        book.battery_pct = identity.battery_pct
        self._air = air
        self._faults = faults
        self._away = False

    async def time_out(self, away_s: float) -> None:
        """Out of reach: what is said is held, then the link is given up, then nothing is heard of it for a while."""
        self._air.block(self.address, True)
        await asyncio.sleep(SUPERVISION_S)
        self._air.clear(self.address)
        self._air.block(self.address, False)
        await self._off(away_s)

    async def reboot(self, off_s: float) -> None:
        """The link goes, and with it what the board has counted."""
        loop = asyncio.get_running_loop()
        self.board.reboot(loop.time() + off_s)
        await self._off(off_s)

    async def fade(self, seconds: float) -> None:
        """Something in the way for less than the link can bear: everything comes, late and in one bunch."""
        self._air.block(self.address, True)
        await asyncio.sleep(seconds)
        self._air.block(self.address, False)

    async def silence(self, seconds: float) -> None:
        """Connected, and not a packet: the board has hung for a while. Its counters go on."""
        self._faults.forget()
        self.sensor.silent = True
        await asyncio.sleep(seconds)
        self.sensor.silent = False

    async def set_battery(self, pct: int) -> None:
        self.book.battery_pct = pct
        await super().set_battery(pct)

    async def _off(self, seconds: float) -> None:
        self._away = True
        if self._connection is not None:
            await self.drop()
        else:
            await self._device.stop_advertising()
        await asyncio.sleep(seconds)
        self._away = False
        if self._connection is None:
            await self._advertise()

    async def _advertise(self) -> None:
        if not self._away and not self._device.is_advertising:
            await super()._advertise()

    def _disconnected(self, reason: int) -> None:
        self._faults.forget()
        self._air.clear(self.address)
        super()._disconnected(reason)

    async def _send_samples(self, payload: bytes) -> None:
        for sent in self._faults.push(payload):
            await super()._send_samples(sent)


def host_ns(loop: asyncio.AbstractEventLoop) -> int:
    """The host's clock in a world of virtual time."""
    return round(loop.time() * 1e9)


@contextmanager
def quiet_bumble() -> Iterator[None]:
    """Silence its warning for each packet that was under way when a link went down, and its debug texts, which it composes
    whether or not anybody reads them: two fifths of all the time a soak takes."""
    before = _log.level
    _log.setLevel(logging.ERROR)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(HCI_Object, "format_fields", staticmethod(lambda *_, **__: ""))
        for name, module in list(sys.modules.items()):
            if name.startswith("bumble.") and name != "bumble.colors" and hasattr(module, "color"):
                patch.setattr(module, "color", lambda text, *_: text)
        yield
    _log.setLevel(before)
