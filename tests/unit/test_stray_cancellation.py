import asyncio

import pytest
from bleak.exc import BleakError

from sensors.sources.stray_cancellation import no_stray_cancellation


async def given_up():
    """As a backend does whose operating system has ended the operation."""
    raise asyncio.CancelledError


async def test_what_nobody_ordered_is_trouble_of_the_radio():
    with pytest.raises(BleakError), no_stray_cancellation():
        await given_up()


async def test_also_when_a_future_was_cancelled_by_someone_else():
    future = asyncio.get_running_loop().create_future()
    asyncio.get_running_loop().call_soon(future.cancel)
    with pytest.raises(BleakError), no_stray_cancellation():
        await future


async def test_an_order_is_obeyed():
    async def wait():
        with no_stray_cancellation():
            await asyncio.Event().wait()

    task = asyncio.create_task(wait())
    await asyncio.sleep(0)
    task.cancel()
    with pytest.raises(asyncio.CancelledError):
        await task


async def test_a_time_limit_stays_one():
    async def limited_outside():
        async with asyncio.timeout(0):
            with no_stray_cancellation():
                await asyncio.Event().wait()

    async def limited_inside():
        with no_stray_cancellation():
            async with asyncio.timeout(0):
                await asyncio.Event().wait()

    for limited in (limited_outside, limited_inside):
        with pytest.raises(TimeoutError):
            await limited()
