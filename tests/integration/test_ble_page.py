"""The lines of Python on docs/adding-a-sensor.md, run as they stand there but for the address and how long they run."""

from __future__ import annotations

import asyncio
import os
import re
import sys
from pathlib import Path

import pytest

if sys.platform != "linux":
    pytest.skip("BlueZ is Linux's Bluetooth; elsewhere bleak talks to another system", allow_module_level=True)

from sensors.check.capture import read_capture
from sensors.check.decoded import decode_all
from sensors.profiles.registry import PROFILES
from tests.integration.ble.bluez_process import FakeBluez
from tests.integration.ble.stand import ARM
from tests.integration.ble.virtual_sensor import Identity

PAGE = Path(__file__).parents[2] / "docs" / "adding-a-sensor.md"
INSTEAD = {"AA:BB:CC:DD:EE:FF": str(ARM), "asyncio.sleep(40)": "asyncio.sleep(1.5)"}
GSP = PROFILES["movesense-gsp"]
N_TRIES = 4
"""A machine that is busy may stamp the second half of a message too late: one capture of so many is whole."""


async def test_what_the_page_says_makes_a_capture_that_can_be_checked(bus, tmp_path):
    (script,) = re.findall(r"```python\n(.*?)```", PAGE.read_text(encoding="utf-8"), re.DOTALL)
    for told, here in INSTEAD.items():
        assert script.count(told) == 1
        script = script.replace(told, here)
    (tmp_path / "my-capture.py").write_text(script)
    async with FakeBluez([Identity(address=ARM, name="Movesense 23150", kind=GSP.name)]):
        for _ in range(N_TRIES):
            decoded = await captured(bus, tmp_path)
            if not decoded.problems:
                break
    assert decoded.n_samples > 50
    assert (decoded.problems, decoded.n_lost, decoded.n_restarts) == ((), 0, 0)


async def captured(bus, folder):
    with (folder / "my-capture.txt").open("wb") as capture:
        process = await asyncio.create_subprocess_exec(
            sys.executable, folder / "my-capture.py", stdout=capture,
            env={**os.environ, "DBUS_SYSTEM_BUS_ADDRESS": bus},
        )  # fmt: skip
        assert await asyncio.wait_for(process.wait(), 60) == 0
    (sent,) = read_capture(folder / "my-capture.txt", GSP).packets.values()
    return decode_all(GSP, sent)
