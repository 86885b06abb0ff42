"""Left out of ordinary runs: these tests boot a virtual machine, and `python3 -m tests --system` asks for that."""

from __future__ import annotations

import os
import time

import pytest

from tests.system.image import base_image, with_code
from tests.system.machine import Outcome, boot_twice
from tests.system.tools import ASKED

if ASKED not in os.environ:
    collect_ignore_glob = ["test_*.py"]


@pytest.fixture(scope="session")
def outcome(tmp_path_factory) -> Outcome:
    """One boot serves all tests."""
    folder = tmp_path_factory.mktemp("system")
    start_s = time.monotonic()
    image = base_image()
    archive = with_code(image, folder)
    made_s = time.monotonic() - start_s
    outcome = boot_twice(image.kernel, archive, folder)
    print(f"\nimage {made_s:.0f} s, guest {outcome.took_s:.0f} s; {image.versions}")
    print("\n".join(line for line in outcome.console.splitlines() if line.startswith(("AT ", "VERSIONS "))))
    return outcome


@pytest.fixture(scope="session")
def result(outcome):
    assert outcome.result is not None, outcome.console[-4000:]
    return outcome.result
