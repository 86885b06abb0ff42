"""Ten minutes of two sensors at 200 Hz through everything a cheap radio does: not one wrong sample, and every gap accounted for.

The faults are drawn from a seed; time is virtual. `PITCHBEND_SOAK_SEEDS=1:31` runs other seeds than the usual one.
"""

from __future__ import annotations

import os
from pathlib import Path

import numpy as np
import pytest

from sensors.events import SourceEvent
from sensors.ingest import Ingest
from sensors.readings import Gap, ImuBlock
from sensors.record.summary import Summariser
from sensors.sources.replay import ReplaySource
from tests.integration.ble.faulty_radio import quiet_bumble
from tests.integration.ble.soak import HOST_FAULTS, SENSOR_FAULTS, Outcome, soak
from tests.integration.ble.soak_check import Tally, check_outcome
from tests.integration.ble.virtual_time import run_in_virtual_time

USUAL_SEEDS = "4:5"
MINUTES = 10.0
PACKET_FAULTS = {"lost", "burst lost", "late", "doubled", "run doubled", "spoilt"}


def seeds() -> range:
    first, end = os.environ.get("PITCHBEND_SOAK_SEEDS", USUAL_SEEDS).split(":")
    return range(int(first), int(end))


@pytest.mark.timeout(600)  # of computing; a quiet core needs less than half a minute
@pytest.mark.parametrize("seed", seeds())
def test_ten_minutes_of_faults_give_no_wrong_sample_and_no_gap_unaccounted_for(seed, tmp_path):
    recording = tmp_path / "soak.mcap"
    with quiet_bumble():
        outcome = run_in_virtual_time(lambda: soak(seed, recording, seconds=60.0 * MINUTES))
    tallies = check_outcome(outcome)
    the_soak_was_one(outcome, tallies)
    the_recording_gives_the_same(recording, outcome, tallies)
    print(story(seed, outcome, tallies))


def the_soak_was_one(outcome: Outcome, tallies: dict[str, Tally]) -> None:
    """It would prove little if nothing had happened."""
    span_s = (outcome.events[-1].arrival_ns - outcome.events[0].arrival_ns) * 1e-9
    assert span_s > 60.0 * MINUTES
    assert len(outcome.stalls_ns) == HOST_FAULTS.count("reader stalled")
    for sensor, tally in tallies.items():
        book = outcome.books[sensor]
        assert set(SENSOR_FAULTS) | PACKET_FAULTS <= book.faults.keys()
        assert tally.n_restarts >= SENSOR_FAULTS.count("reboot")
        assert tally.n_samples > 0.6 * 200.0 * span_s
        assert min(tally.n_gaps, tally.n_spoilt, tally.n_not_in_order) >= 20
        last = [packet for packet in outcome.boards[sensor].packets.values() if packet.boot == 0][-1]
        assert last.sequence > 2**16  # both counters went round
        assert last.device_s[-1] > 2**32 * 1e-6


def the_recording_gives_the_same(recording: Path, outcome: Outcome, tallies: dict[str, Tally]) -> None:
    """What was written meanwhile replays to the same events, and these to the same samples, bit by bit."""
    events = run_in_virtual_time(lambda: replayed(recording))
    n = len(outcome.events)
    assert events[:n] == outcome.events
    assert len(events) == n + len(tallies)  # and each link is reported as ended
    ingest, summariser = Ingest(), Summariser()
    items: list[ImuBlock | Gap] = []
    for event in events[:n]:
        items += ingest.push(event)
        summariser.push(event)
    assert len(items) == len(outcome.items)
    for item, live in zip(items, outcome.items, strict=True):
        assert the_same(item, live)
    for entry in summariser.summary().sensors:
        tally = tallies[entry.sensor]
        assert (entry.n_samples, entry.n_lost, entry.n_malformed) == (tally.n_samples, tally.n_lost, tally.n_spoilt)
        assert (entry.n_duplicates, entry.n_restarts) == (tally.n_not_in_order, tally.n_restarts)


async def replayed(recording: Path) -> list[SourceEvent]:
    async with ReplaySource(recording, speed=0) as source:
        events = [event async for event in source]
    assert source.report.is_clean
    return events


def the_same(item: ImuBlock | Gap, live: ImuBlock | Gap) -> bool:
    if isinstance(item, Gap) or isinstance(live, Gap):
        return item == live
    arrays = ("t_s", "device_s", "gyr_sensor_rad_s", "acc_sensor_m_s2")
    return (item.arrival_ns, item.sensor, item.saturated) == (live.arrival_ns, live.sensor, live.saturated) and all(
        getattr(item, name).tobytes() == getattr(live, name).tobytes() for name in arrays
    )


def story(seed: int, outcome: Outcome, tallies: dict[str, Tally]) -> str:
    lines = [f"seed {seed}, connection interval {outcome.interval_s * 1e3:g} ms"]
    for sensor, tally in tallies.items():
        errors_ms = 1e3 * np.array(tally.time_errors_s)
        lines.append(
            f"  {sensor}: {tally.n_samples} samples right, {tally.n_lost} lost in {tally.n_gaps} gaps, "
            f"{tally.n_restarts} restarts, {tally.n_spoilt} packets refused, {tally.n_not_in_order} doubled or late, "
            f"{tally.n_overflowed} overflowed, {tally.n_given_up} after the link was given up; "
            f"session time {errors_ms.min():+.1f} to {errors_ms.max():+.1f} ms from the truth"
        )
    return "\n".join(lines)
