"""In the guest: another program that streams from one sensor, until it is killed."""

from __future__ import annotations

import asyncio
import sys

from bleak import BleakClient, BleakScanner

from sensors.profiles.open_imu import DATA_UUID


async def main() -> None:
    device = await BleakScanner.find_device_by_address(sys.argv[1], timeout=30.0)
    assert device is not None
    async with BleakClient(device) as client:
        await client.start_notify(DATA_UUID, lambda *_: None)
        print("listening", flush=True)
        await asyncio.Event().wait()


asyncio.run(main())
