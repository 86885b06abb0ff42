"""Fixtures of the radio tests: a private D-Bus, a virtual controller that keeps quiet."""

from __future__ import annotations

import logging

import pytest

from tests.integration.ble.bluez_process import FakeBluez
from tests.integration.ble.private_bus import private_bus


@pytest.fixture
def quiet_bumble():
    """Bumble logs each packet that was under way when a link went down as a warning."""
    logger = logging.getLogger("bumble")
    before = logger.level
    logger.setLevel(logging.ERROR)
    yield
    logger.setLevel(before)


@pytest.fixture
def bus(tmp_path):
    with private_bus(tmp_path) as address:
        yield address


@pytest.fixture
async def bluez(bus):
    async with FakeBluez() as running:
        yield running
