"""Fixtures of the radio tests: a private D-Bus, and a virtual controller that keeps quiet."""

from __future__ import annotations

import logging

import pytest

from tests.integration.ble.bluez_process import FakeBluez
from tests.integration.ble.private_bus import private_bus


@pytest.fixture(autouse=True)
def own_lock_folder(tmp_path, monkeypatch):
    """Locks on sensors are kept here, for other runs of these tests on this machine use sensors of the same address."""
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))


@pytest.fixture(autouse=True)
def own_store(tmp_path, monkeypatch):
    """What is recorded here comes into no store of a person."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))


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
def kernel_adapters(tmp_path, monkeypatch):
    """A kernel that has found one adapter, as the file system shows it."""
    folder = tmp_path / "bluetooth"
    (folder / "hci0").mkdir(parents=True)
    monkeypatch.setattr("sensors.sources.ble_system.KERNEL_ADAPTERS", folder)
    return folder


@pytest.fixture
async def bluez(bus):
    async with FakeBluez() as running:
        yield running
