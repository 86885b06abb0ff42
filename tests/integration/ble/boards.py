"""Kinds of board for the fake BlueZ: what each offers, what starts it, and what it sends.

By hand from their makers' pages, not from the profile files: those are what is tested.
"""

from __future__ import annotations

import itertools
import struct
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from sensors.profiles import open_imu
from tests.integration.ble.packet_supply import TimedPayload, synthetic

Services = tuple[tuple[str, tuple[tuple[str, tuple[str, ...]], ...]], ...]
"""(service, ((characteristic, flags), ...)), ..."""

_BATTERY = ("0000180f-0000-1000-8000-00805f9b34fb", (("00002a19-0000-1000-8000-00805f9b34fb", ("read", "notify")),))
_IDENTITY = (
    "0000180a-0000-1000-8000-00805f9b34fb",
    tuple((f"0000{short}-0000-1000-8000-00805f9b34fb", ("read",)) for short in ("2a29", "2a24", "2a26")),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Board:
    services: Services
    advertised: tuple[str, ...]
    data_uuid: str
    starts: Callable[[bytes], bool]
    stops: Callable[[bytes], bool]
    packets: Callable[[int], Iterator[TimedPayload]]


def _thingy(short: str) -> str:
    return f"ef68{short}-9b35-4933-9b10-52ffa9740042"


def thingy_sample(number: int) -> bytes:
    """One g upward, and the number of the sample as 32nds of deg/s about x."""
    return struct.pack("<9h", 0, 0, 1024, number % 1000, 0, 0, 0, 0, 0)


def _thingy_packets(_: int) -> Iterator[TimedPayload]:
    for number in itertools.count():
        yield (number + 1) / 100, thingy_sample(number)


def _movesense(short: str) -> str:
    return f"{short}-7185-4d5d-b431-630e7050e8f0"


def movesense_message(number: int) -> bytes:
    """Eight samples of one g upward, and the number of the message as deg/s about x."""
    acc, gyr = [0.0, 0.0, 9.80665] * 8, [float(number % 1000), 0.0, 0.0] * 8
    return struct.pack("<BBI48f", 2, 0x63, 4000 + round(number * 8000 / 104), *acc, *gyr)


def _movesense_packets(_: int) -> Iterator[TimedPayload]:
    yield 0.0, struct.pack("<BBH", 1, 0x63, 200)  # the answer to the subscription
    for number in itertools.count():
        message, due_s = movesense_message(number), (number + 1) * 8 / 104
        yield due_s, message[:158]
        yield due_s + 0.001, b"\x03\x63" + message[158:]


BOARDS: dict[str, Board] = {
    "open-imu-1": Board(
        services=(
            (open_imu.SERVICE_UUID, ((open_imu.DATA_UUID, ("notify",)), (open_imu.CONTROL_UUID, ("write",)))),
            _BATTERY,
            _IDENTITY,
        ),
        advertised=(open_imu.SERVICE_UUID,),
        data_uuid=open_imu.DATA_UUID,
        starts=lambda value: value == open_imu.COMMAND_START,
        stops=lambda value: value == open_imu.COMMAND_STOP,
        packets=synthetic,
    ),
    "movesense-gsp": Board(
        services=(
            (
                _movesense("34802252"),
                ((_movesense("34800001"), ("write-without-response", "write")), (_movesense("34800002"), ("notify",))),
            ),
            _BATTERY,
        ),
        advertised=(),  # known by its name alone
        data_uuid=_movesense("34800002"),
        starts=lambda value: value.startswith(b"\x01\x63/Meas/IMU6/"),
        stops=lambda value: value == b"\x02\x63",
        packets=_movesense_packets,
    ),
    "thingy-52": Board(
        services=(
            (_thingy("0300"), ((_thingy("0301"), ("write-without-response", "write", "read")),)),
            (_thingy("0400"), ((_thingy("0401"), ("write", "read")), (_thingy("0406"), ("notify",)))),
            _BATTERY,
        ),
        advertised=(_thingy("0100"),),
        data_uuid=_thingy("0406"),
        starts=lambda value: len(value) == 9,
        stops=lambda _: False,
        packets=_thingy_packets,
    ),
}
