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
SAMPLES_A_MESSAGE = 8


async def test_what_the_page_says_makes_a_capture_that_can_be_checked(bus, tmp_path):
    (script,) = re.findall(r"```python\n(.*?)```", PAGE.read_text(encoding="utf-8"), re.DOTALL)
    for told, here in INSTEAD.items():
        assert script.count(told) == 1
        script = script.replace(told, here)
    (tmp_path / "my-capture.py").write_text(script)
    async with FakeBluez([Identity(address=ARM, name="Movesense 23150", kind=GSP.name)]):
        with (tmp_path / "my-capture.txt").open("wb") as capture:
            process = await asyncio.create_subprocess_exec(
                sys.executable, tmp_path / "my-capture.py", stdout=capture,
                env={**os.environ, "DBUS_SYSTEM_BUS_ADDRESS": bus},
            )  # fmt: skip
            assert await asyncio.wait_for(process.wait(), 60) == 0
    (sent,) = read_capture(tmp_path / "my-capture.txt", GSP).packets.values()
    decoded = decode_all(GSP, sent)
    assert decoded.n_samples > 50
    assert decoded.n_restarts == 0
    # Only what this machine stamped too late, having other things to do, is lost, and counted.
    late = [problem for problem in decoded.problems if "too late" in problem.problem]
    assert list(decoded.problems) == late
    assert decoded.n_lost <= SAMPLES_A_MESSAGE * len(late)
