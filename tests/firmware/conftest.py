"""The core, built once, and a process of it."""

from __future__ import annotations

import pytest

from tests.firmware.board import Core
from tests.firmware.compiler import build_driver


@pytest.fixture(scope="session")
def driver(tmp_path_factory):
    return build_driver(tmp_path_factory.mktemp("core"))


@pytest.fixture(scope="session")
def core(driver):
    with Core(driver) as running:
        yield running
