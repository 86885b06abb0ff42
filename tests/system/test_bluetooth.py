"""The product's radio source on bleak, D-Bus, bluetoothd and the kernel, with the product's virtual pair on a vhci controller.

Completeness, order, reconnection. Never latency: the machine is emulated.
"""

from __future__ import annotations

import itertools

from sensors.profiles.open_imu import RATE_HZ, SAMPLES_PER_PACKET
from sensors.virtual.air.pair import ADDRESSES

SEQUENCES = 65536
ARM, GRIP = ADDRESSES.values()


def steps(sequences: list[int]) -> list[int]:
    """From each packet to the next; a counter that wraps is no step back."""
    return [(later - earlier) % SEQUENCES for earlier, later in itertools.pairwise(sequences)]


def assert_complete(sequences: list[int]) -> None:
    assert set(steps(sequences)) == {1}


def assert_in_order_once(sequences: list[int]) -> None:
    """Gaps are allowed, a repetition or a step back is not: either would be a huge step forward."""
    assert all(0 < step < SEQUENCES // 2 for step in steps(sequences))


def test_the_trial_ran_to_its_end(outcome, result):
    assert "error" not in result, outcome.console[-4000:]


def test_a_scan_finds_both_by_name(result):
    assert result["found"] == {role.value: address for role, address in ADDRESSES.items()}


def test_two_stream_for_twenty_seconds_complete_and_in_order(result):
    assert result["streamed"]
    assert result["stream_s"] >= 20.0
    for sensor in (ARM, GRIP):
        sequences = result["stream"][sensor]
        # By count, for the guest's clock and the host's may differ: half of what 20 s should bring is still a stream.
        assert len(sequences) > 0.5 * 20.0 * RATE_HZ / SAMPLES_PER_PACKET
        assert sequences[0] == 0
        assert_complete(sequences)


def test_each_says_what_it_is(result):
    assert result["firmware"] == {ARM: "virtual", GRIP: "virtual"}


def test_battery_is_read_and_then_told(result):
    assert [pct for sensor, pct in result["batteries"] if sensor == GRIP] == [90, 41]
    assert [pct for sensor, pct in result["batteries"] if sensor == ARM] == [84]


def test_a_dropped_link_comes_back_while_the_other_streams_on(result):
    links = result["drop_links"]
    assert links[ARM] == []
    assert links[GRIP][0] == ["lost", "dropped"]
    assert links[GRIP][-1] == ["streaming", "none"]
    assert result["flows_after_drop"] == [True, True]
    assert_complete(result["sequences_after_drop"][ARM])
    assert_in_order_once(result["sequences_after_drop"][GRIP])


def test_adapter_off_and_on_again(result):
    assert result["flows_after_power"] == [True, True]
    for sensor in (ARM, GRIP):
        links = result["power_links"][sensor]
        assert links[0][0] == "lost"
        assert ["searching", "adapter_off"] in links
        assert links[-1] == ["streaming", "none"]


def test_over_the_whole_trial_nothing_came_twice_or_out_of_order(result):
    for sensor in (ARM, GRIP):
        assert_in_order_once(result["sequences"][sensor])
    assert result["n_dropped_events"] == 0


def test_one_that_another_program_streams_from_is_left_to_it_until_that_is_killed(result):
    assert result["other_said"] == "listening"
    assert result["held"]
    assert result["flows_while_held"]
    assert result["sequences_while_held"] == []
    assert result["flows_after_kill"] == [True, True]


def test_the_bluetooth_service_dies_and_comes_back(result):
    assert result["flows_after_service"] == [True, True]
    for sensor in (ARM, GRIP):
        links = result["service_links"][sensor]
        assert ["searching", "service_off"] in links
        assert links[-1] == ["streaming", "none"]


def test_the_source_lets_go_of_both(result):
    assert result["connected_after"] == {ARM: False, GRIP: False}
