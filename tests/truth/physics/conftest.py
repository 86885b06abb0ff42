"""One short practice for all tests here, made once."""

from __future__ import annotations

import pytest


@pytest.fixture(scope="session")
def short_practice(tmp_path_factory):
    """Three minutes, all set-up moves, six swings; gives (stage, folder)."""
    pytest.importorskip("mujoco")
    from tests.truth.physics.dataset import make

    folder = tmp_path_factory.mktemp("physics")
    return make(11, folder, minutes=3.0, n_swings=6, lead_left=True), folder
