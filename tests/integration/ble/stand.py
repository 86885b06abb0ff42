"""What the radio tests share: the two sensors, a hurried timing, and what to demand of a stream."""

from __future__ import annotations

from sensors.ids import Role, SensorId
from sensors.sources.timing import RadioTiming
from tests.integration.ble.identities import CLUB, FOREARM
from tests.integration.ble.watch import Watch

ARM = SensorId(FOREARM.address)
GRIP = SensorId(CLUB.address)
BOTH = {ARM: Role.FOREARM, GRIP: Role.CLUB}

HURRIED = RadioTiming(
    scan_round_s=0.4, gather_s=0.3, not_found_s=0.3, prepare_s=2.0, silent_s=0.4, release_s=2.0, backoff_scale=0.1
)


def assert_in_order(watch: Watch) -> None:
    stamps = [event.arrival_ns for event in watch.events]
    assert stamps == sorted(stamps)


def assert_complete(sequences: list[int]) -> None:
    """Nothing lost, nothing twice."""
    assert sequences == list(range(sequences[0], sequences[0] + len(sequences)))


async def streaming(watch: Watch, *sensors: SensorId) -> None:
    for sensor in sensors:
        await watch.packets_of(sensor, 3)
