"""A recording read on from any place gives what reading it through gives, whole or damaged."""

from __future__ import annotations

import pickle
import shutil

import pytest

from sensors.record.reader import Reel, read_events
from server.cli.demo_recording import demo_recording


@pytest.fixture(scope="module")
def damaged(tmp_path_factory):
    """The demo with a hole in it and without its end."""
    path = tmp_path_factory.mktemp("reel") / "hurt.mcap"
    shutil.copy(demo_recording(), path)
    data = bytearray(path.read_bytes()[:400_000])
    data[90_000:90_400] = bytes(400)
    data[200_000:212_000] = b"\x06" * 12_000
    path.write_bytes(data)
    return path


@pytest.mark.parametrize("whole", [True, False])
def test_reading_goes_on_from_any_place(whole, damaged):
    path = demo_recording() if whole else damaged
    through = list(read_events(path))
    assert len(through) > 1000
    reel, places = Reel(path), []
    for i in range(len(through)):
        if i % 331 == 0:
            places.append((i, pickle.loads(pickle.dumps(reel.place_of(reel.step)))))
        assert reel.next() == through[i]
    assert reel.next() is None
    assert (reel.report.n_damaged_chunks > 0) is not whole
    reel.close()
    for i, place in places:
        other = Reel(path, place)
        assert [other.next() for _ in range(60)] == [*through[i : i + 60], *[None] * (i + 60 - len(through))]
        other.close()
