"""The command itself, as a person runs it, over bleak's BlueZ backend: scan, live, the recording left behind."""

from __future__ import annotations

import asyncio
import json
import os
import signal
import sys
from pathlib import Path

import httpx
import pytest

if sys.platform != "linux":
    pytest.skip("BlueZ is Linux's Bluetooth; elsewhere bleak talks to another system", allow_module_level=True)

from sensors.events import PlayerSet, RawPacket
from sensors.ids import Side
from sensors.record.reader import ReadReport, read_events
from server.run import listen
from tests.integration.ble.stand import ARM, GRIP


async def started(tmp_path: Path, *arguments: str) -> asyncio.subprocess.Process:
    places = {"XDG_CONFIG_HOME": "config", "XDG_DATA_HOME": "data", "XDG_DOCUMENTS_DIR": "documents"}
    homes = {name: str(tmp_path / place) for name, place in places.items()}
    return await asyncio.create_subprocess_exec(
        sys.executable, "-m", "server", *arguments,
        env=os.environ | homes, stdin=asyncio.subprocess.DEVNULL,
        stdout=asyncio.subprocess.PIPE, stderr=asyncio.subprocess.STDOUT,
    )  # fmt: skip


async def said(process: asyncio.subprocess.Process) -> str:
    out, _ = await process.communicate()
    return out.decode()


async def test_scan_lists_both_sensors(bluez, tmp_path):
    process = await started(tmp_path, "scan")
    text = await said(process)
    assert process.returncode == 0, text
    assert ARM in text
    assert GRIP in text


async def test_live_without_knowing_the_sensors_says_what_to_pass(bluez, tmp_path):
    process = await started(tmp_path, "live", "--no-browser")
    text = await said(process)
    assert process.returncode == 2, text
    assert "--forearm" in text
    assert "--club" in text


async def test_live_streams_records_and_ends_with_ctrl_c(bluez, tmp_path):
    with listen(0) as free:
        port = free.getsockname()[1]
    process = await started(
        tmp_path, "live", "--forearm", ARM, "--club", GRIP, "--lead-side", "right", "--player", "Ivo Tarn",
        "--no-browser", "--port", str(port),
    )  # fmt: skip
    async with httpx.AsyncClient() as client, asyncio.timeout(30):
        while True:
            await asyncio.sleep(0.1)
            try:
                health = (await client.get(f"http://127.0.0.1:{port}/api/health")).json()
            except httpx.TransportError:
                assert process.returncode is None
                continue
            if all(s["n_samples"] > 100 for s in health["sensors"]) and len(health["sensors"]) == 2:
                break
    process.send_signal(signal.SIGINT)
    text = await said(process)
    assert process.returncode == 0, text
    assert "Traceback" not in text
    (recording,) = (tmp_path / "documents" / "Pitchbend").rglob("*.mcap")
    report = ReadReport()
    events = list(read_events(recording, report=report))
    assert report.is_clean
    assert isinstance(events[0], PlayerSet)
    assert (events[0].name, events[0].lead_side) == ("Ivo Tarn", Side.RIGHT)
    assert {event.sensor for event in events if isinstance(event, RawPacket)} == {ARM, GRIP}
    remembered = json.loads(next((tmp_path / "config").rglob("*.json")).read_text())
    assert remembered["forearm"] == ARM
