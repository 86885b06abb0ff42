"""A program that was busy must not call a sensor silent whose packets only wait to be taken in."""

from __future__ import annotations

import asyncio
import time

import pytest

from sensors.events import LinkReason
from sensors.ids import Role, SensorId
from sensors.sources.ble_link import Link
from sensors.sources.ble_scan import Radio
from sensors.sources.event_queue import EventQueue
from sensors.sources.timing import RadioTiming

SILENT_S = 0.2
BUSY_S = 0.6


class Connected:
    def __init__(self):
        self.dropped = asyncio.Event()


@pytest.fixture
def link():
    radio = Radio(timing=RadioTiming(silent_s=SILENT_S))
    return Link(radio, SensorId("AA:01"), Role.CLUB, EventQueue(time.monotonic_ns, max_events=128))


async def test_packets_that_waited_while_the_program_was_busy_count(link):
    client = Connected()
    waiting = asyncio.create_task(link._until_lost(client))
    await asyncio.sleep(0)
    link._on_data(None, bytearray(b"1"))
    loop = asyncio.get_running_loop()

    def pass_on(n_hands):
        """From the socket to the callback a notification goes through some hands, a turn of the loop each."""
        loop.call_soon(*((pass_on, n_hands - 1) if n_hands else (link._on_data, None, bytearray(b"2"))))

    loop.call_later(0.01, pass_on, 4)
    time.sleep(BUSY_S)  # what a long computation does to the loop
    await asyncio.sleep(0.05)
    assert not waiting.done()
    client.dropped.set()
    assert await waiting is LinkReason.DROPPED


async def test_a_sensor_that_says_nothing_is_silent_all_the_same(link):
    loop = asyncio.get_running_loop()
    began_s = loop.time()
    assert await link._until_lost(Connected()) is LinkReason.SILENT
    assert loop.time() - began_s >= SILENT_S
    waiting = asyncio.create_task(link._until_lost(Connected()))
    await asyncio.sleep(0)
    time.sleep(BUSY_S)
    assert await waiting is LinkReason.SILENT
