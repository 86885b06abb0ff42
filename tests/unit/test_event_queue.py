from __future__ import annotations

import asyncio

import pytest

from sensors.events import LinkChange, LinkState, RawPacket
from sensors.ids import SensorId
from sensors.sources.event_queue import EventQueue

ONE = SensorId("one")


def packet(arrival_ns: int) -> RawPacket:
    return RawPacket(arrival_ns=arrival_ns, sensor=ONE, payload=b"")


def lost(arrival_ns: int) -> LinkChange:
    return LinkChange(arrival_ns=arrival_ns, sensor=ONE, state=LinkState.LOST)


def test_stamps_never_step_back():
    times = iter([5, 9, 7, 8, 12])
    queue = EventQueue(lambda: next(times), max_events=100)
    assert [queue.stamp_ns() for _ in range(5)] == [5, 9, 9, 9, 12]


async def test_events_come_in_order_and_wake_the_reader():
    queue = EventQueue(lambda: 0, max_events=100)
    reader = asyncio.create_task(queue.get())
    await asyncio.sleep(0)
    queue.put(packet(1))
    queue.put(packet(2))
    assert await reader == packet(1)
    assert await queue.get() == packet(2)


async def test_a_full_queue_counts_what_it_drops_and_keeps_room_for_news():
    queue = EventQueue(lambda: 0, max_events=70)
    for n in range(10):
        queue.put(packet(n))
    assert queue.n_dropped == 4
    queue.put(lost(10))
    queue.close()
    got = [event async for event in _drain(queue)]
    assert got == [*(packet(n) for n in range(6)), lost(10)]
    for n in range(80):
        EventQueue.put(queue, lost(n))
    assert queue.n_dropped == 84  # closed: nothing more gets in, and that is counted as well


async def _drain(queue: EventQueue):
    while (event := await queue.get()) is not None:
        yield event


async def test_a_bug_comes_after_what_was_before_it_and_once():
    queue = EventQueue(lambda: 0, max_events=100)
    queue.put(packet(1))
    queue.close(ZeroDivisionError())
    queue.close()  # later closings change nothing
    assert await queue.get() == packet(1)
    with pytest.raises(ZeroDivisionError):
        await queue.get()
    assert await queue.get() is None
    assert queue.take_bug() is None


def test_a_queue_without_room_for_packets_is_refused():
    with pytest.raises(ValueError, match="max_events"):
        EventQueue(lambda: 0, max_events=64)
