"""Device clocks that go round: after a pause of just one round a stamp is where it was, and only the arrivals tell."""

import struct

import numpy as np
import pytest

from sensors.decode.decoder import decoder_for
from sensors.readings import Gap, Reading
from tests.unit.profile_samples import IN_PARTS, PER_SAMPLE, packet

ROUND_S = 65.536
"""Of 16 bits of milliseconds."""


def per_sample(ms):
    return b"\x07" + struct.pack(">H6h", ms % 2**16, 0, 0, 2048, 0, 0, 0)


def stamped(ms):
    return struct.pack("<BBH6h", 1, 1, ms % 2**16, 0, 0, 0, 0, 0, 2048)


@pytest.mark.parametrize(("profile", "message"), [(PER_SAMPLE, per_sample), (IN_PARTS, stamped)])
@pytest.mark.parametrize("pause_ms", [40_000, 65_300, 65_500, 65_530])
def test_a_pause_of_about_a_round_is_a_gap_and_nothing_after_it_is_dropped(profile, message, pause_ms):
    decoder, items = decoder_for(profile), []
    sent_ms = [*range(0, 1000, 10), *range(990 + pause_ms, 990 + pause_ms + 1000, 10)]
    for ms in sent_ms:
        items += decoder.push(packet(message(ms), ms * 1e-3 + 0.02))
    assert decoder.n_duplicates == 0
    (gap,) = [item for item in items if isinstance(item, Gap)]
    assert (gap.restarted, gap.n_lost) == (False, pytest.approx(pause_ms / 10 - 1, rel=0.03))
    times_s = np.concatenate([item.device_s for item in items if isinstance(item, Reading)])
    assert times_s == pytest.approx(np.array(sent_ms) * 1e-3, abs=1e-6)


@pytest.mark.parametrize(("profile", "message"), [(PER_SAMPLE, per_sample), (IN_PARTS, stamped)])
def test_a_late_one_is_still_dropped(profile, message):
    decoder = decoder_for(profile)
    for ms in range(0, 100, 10):
        decoder.push(packet(message(ms), ms * 1e-3))
    assert decoder.push(packet(message(60), 0.1)) == ()
    assert decoder.push(packet(message(90), 3.0)) == ()
    assert [type(item) for item in decoder.push(packet(message(100), 0.11))] == [Reading]
    assert decoder.n_duplicates == 2
