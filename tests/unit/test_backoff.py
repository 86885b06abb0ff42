from __future__ import annotations

import pytest

from sensors.events import LinkReason
from sensors.sources.backoff import DELAYS, Backoff, delay_s


def test_every_trouble_has_its_delays():
    assert set(DELAYS) == set(LinkReason) - {LinkReason.NONE, LinkReason.END_OF_RECORDING, LinkReason.NO_BLINK}
    assert all(0.0 <= delays.first_s <= delays.longest_s for delays in DELAYS.values())


@pytest.mark.parametrize("reason", DELAYS)
def test_delays_grow_to_the_longest_and_stay(reason):
    delays = [delay_s(reason, n) for n in range(40)]
    assert delays[0] == DELAYS[reason].first_s
    assert delays == sorted(delays)
    assert delays[-1] == delay_s(reason, 1_000_000) == DELAYS[reason].longest_s


def test_a_drop_is_tried_again_sooner_than_a_wrong_device():
    assert delay_s(LinkReason.DROPPED, 0) == 0.1
    assert delay_s(LinkReason.DROPPED, 3) == pytest.approx(0.8)
    assert delay_s(LinkReason.WRONG_DEVICE, 0) == 5.0


def test_reasons_are_counted_apart():
    backoff = Backoff()
    assert [backoff.next_delay_s(LinkReason.CONNECT_FAILED) for _ in range(3)] == [0.5, 1.0, 2.0]
    assert backoff.next_delay_s(LinkReason.DROPPED) == 0.1
    assert backoff.next_delay_s(LinkReason.CONNECT_FAILED) == 4.0


def test_a_good_link_wipes_the_count():
    backoff = Backoff(scale=2.0)
    assert [backoff.next_delay_s(LinkReason.DROPPED) for _ in range(2)] == [0.2, 0.4]
    backoff.forget()
    assert backoff.next_delay_s(LinkReason.DROPPED) == 0.2
