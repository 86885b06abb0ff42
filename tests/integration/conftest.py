"""Fixtures of the radio tests that run over a private D-Bus."""

from __future__ import annotations

import pytest

from tests.integration.ble.bluez_process import FakeBluez
from tests.integration.ble.private_bus import private_bus


@pytest.fixture
def bus(tmp_path):
    with private_bus(tmp_path) as address:
        yield address


@pytest.fixture
async def bluez(bus):
    async with FakeBluez() as running:
        yield running
