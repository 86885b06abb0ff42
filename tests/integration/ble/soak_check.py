"""Compares what the product made of a soak with what the injector's books say happened. Nothing here uses the product's
own decoding: packets and samples are known by their bytes."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

import numpy as np

from sensors.events import BatteryLevel, LinkChange, LinkState, RawPacket
from sensors.ids import SensorId
from sensors.readings import Gap, ImuBlock
from tests.integration.ble.packet_faults import Book
from tests.integration.ble.soak import Outcome
from tests.integration.ble.traced_board import TracedBoard, TracedPacket

GYR_RAD_S_PER_COUNT = np.radians(2000.0) / 32768
ACC_M_S2_PER_COUNT = 16.0 * 9.80665 / 32768
"""By the profile's README; standard gravity is exact by definition (CGPM 1901)."""

DRIFTED_S = 0.002
"""A clock 100 ppm off earns this much in the 20 s before its drift can be told."""
SHARE_OF_INTERVAL = 0.25
"""How well the drift is told later, by the unevenness of arrivals: as a share of the connection interval."""
STAMP_S = 1.5e-6
"""A board stamps whole microseconds; a stretch of samples lies between two stamps."""
FIRST_PACKET_SLACK = 0.025
"""The first packet after a beginning is spread at the nominal rate, the board's own is within 2 % of it, its clock 100 ppm."""


@dataclass(slots=True)
class Tally:
    """One sensor's figures, all from the books."""

    n_samples: int = 0
    n_lost: int = 0
    n_gaps: int = 0
    n_restarts: int = 0
    n_spoilt: int = 0
    n_not_in_order: int = 0
    """Doubled or late: their samples are out already, or counted as lost."""
    n_overflowed: int = 0
    n_given_up: int = 0
    """Came while the link was being torn down."""
    time_errors_s: list[float] = field(default_factory=list)


def check_outcome(outcome: Outcome) -> dict[SensorId, Tally]:
    """Assert everything that does not need the recording; gives each sensor's figures."""
    stamps = [event.arrival_ns for event in outcome.events]
    assert stamps == sorted(stamps)
    tallies = {sensor: _check_sensor(outcome, sensor) for sensor in outcome.boards}
    assert sum(tally.n_overflowed for tally in tallies.values()) == outcome.n_queue_dropped
    return tallies


def _check_sensor(outcome: Outcome, sensor: SensorId) -> Tally:
    tally = Tally()
    board, book = outcome.boards[sensor], outcome.books[sensor]
    packets = [event for event in outcome.events if isinstance(event, RawPacket) and event.sensor == sensor]
    _account_for_packets(outcome, sensor, packets, tally)
    expected = _expected(packets, board, book, tally)
    items = [item for item in outcome.items if item.sensor == sensor]
    assert _outline(items) == _outline(expected), _first_difference(items, expected)
    start_ns = outcome.events[0].arrival_ns
    clock = _ClockBound(start_ns * 1e-9, DRIFTED_S + SHARE_OF_INTERVAL * outcome.interval_s)
    last_t_s = -np.inf
    for item, wanted in zip(items, expected, strict=True):
        if isinstance(item, Gap):
            assert item == wanted
            if item.restarted:
                clock.begin_anew()
            continue
        assert isinstance(wanted, _Wanted)
        _check_samples(item, wanted.packet, board)
        _check_spacing(item, wanted)
        assert item.t_s[0] > last_t_s
        assert (np.diff(item.t_s) > 0.0).all()
        last_t_s = item.t_s[-1]
        tally.time_errors_s += clock.check(item, wanted.packet)
    _check_health(outcome, sensor, tally)
    return tally


# every packet that reached the host is in the stream, or its absence has a cause


def _account_for_packets(outcome: Outcome, sensor: SensorId, packets: list[RawPacket], tally: Tally) -> None:
    seen = iter([(packet.arrival_ns, packet.payload) for packet in packets])
    torn_down = list(_torn_down(outcome, sensor))
    head = next(seen, None)
    for delivered in outcome.books[sensor].delivered:
        if delivered == head:
            head = next(seen, None)
        elif any(from_ns <= delivered[0] <= to_ns for from_ns, to_ns in torn_down):
            tally.n_given_up += 1
        else:
            assert any(from_ns < delivered[0] <= to_ns for from_ns, to_ns in outcome.stalls_ns), delivered
            tally.n_overflowed += 1
    assert head is None, f"a packet that the radio never handed over: {head}"


def _torn_down(outcome: Outcome, sensor: SensorId) -> Iterator[tuple[int, int]]:
    """When the source had given a link up and not made another: from, to."""
    from_ns: int | None = None
    for event in outcome.events:
        if isinstance(event, LinkChange) and event.sensor == sensor:
            if event.state is LinkState.LOST:
                from_ns = event.arrival_ns
            elif event.state is LinkState.CONNECTING and from_ns is not None:
                yield from_ns, event.arrival_ns
                from_ns = None


# what must come out, from the identity of what went in


@dataclass(frozen=True, slots=True, kw_only=True)
class _Wanted:
    arrival_ns: int
    packet: TracedPacket
    before: TracedPacket | None
    """The packet to whose stamp this one's samples connect."""


def _expected(packets: list[RawPacket], board: TracedBoard, book: Book, tally: Tally) -> list[_Wanted | Gap]:
    expected: list[_Wanted | Gap] = []
    newest: TracedPacket | None = None
    for event in packets:
        if event.payload in book.spoilt:
            tally.n_spoilt += 1
            continue
        packet = board.packets[event.payload]  # KeyError: nobody sent this
        if newest is not None and (packet.boot, packet.sequence) <= (newest.boot, newest.sequence):
            tally.n_not_in_order += 1
            continue
        before = newest
        if newest is not None and packet.boot != newest.boot:
            expected.append(Gap(arrival_ns=event.arrival_ns, sensor=event.sensor, n_lost=0, restarted=True))
            tally.n_restarts += 1
            before = None
        elif newest is not None and packet.numbers[0] != newest.numbers[-1] + 1:
            n_lost = packet.numbers[0] - newest.numbers[-1] - 1
            expected.append(Gap(arrival_ns=event.arrival_ns, sensor=event.sensor, n_lost=n_lost))
            tally.n_gaps += 1
            tally.n_lost += n_lost
        expected.append(_Wanted(arrival_ns=event.arrival_ns, packet=packet, before=before))
        tally.n_samples += len(packet.numbers)
        newest = packet
    return expected


def _outline(items: Sequence[ImuBlock | _Wanted | Gap]) -> list[tuple[int, bool]]:
    return [(item.arrival_ns, isinstance(item, Gap)) for item in items]


def _first_difference(items: list[ImuBlock | Gap], expected: list[_Wanted | Gap]) -> str:
    pairs = zip(_outline(items), _outline(expected), strict=False)
    nth = next((nth for nth, (got, wanted) in enumerate(pairs) if got != wanted), min(len(items), len(expected)))
    return f"item {nth} of {len(items)}: {items[nth : nth + 1]}, not {expected[nth : nth + 1]} of {len(expected)}"


# each sample


def _check_samples(block: ImuBlock, packet: TracedPacket, board: TracedBoard) -> None:
    """Each is the one that belongs here, told by its own bytes and to the last bit."""
    counts = np.column_stack(
        [
            np.rint(block.gyr_sensor_rad_s / GYR_RAD_S_PER_COUNT),
            np.rint(block.acc_sensor_m_s2 / ACC_M_S2_PER_COUNT),
        ]
    ).astype("<i2")
    assert [board.number_of[row.tobytes()] for row in counts] == list(packet.numbers)
    assert np.array_equal(block.gyr_sensor_rad_s, counts[:, :3] * GYR_RAD_S_PER_COUNT)
    assert np.array_equal(block.acc_sensor_m_s2, counts[:, 3:] * ACC_M_S2_PER_COUNT)
    assert block.saturated == bool(np.isin(counts[:, :3], (-32768, 32767)).any())


def _check_spacing(block: ImuBlock, wanted: _Wanted) -> None:
    """On the device's clock samples lie where the board took them, however many packets are missing before."""
    true_s = wanted.packet.device_s
    error_s = (block.device_s - block.device_s[-1]) - (true_s - true_s[-1])
    slack_s = FIRST_PACKET_SLACK * (true_s[-1] - true_s) if wanted.before is None else 0.0
    assert (np.abs(error_s) <= STAMP_S + slack_s).all()


class _ClockBound:
    """How far from the truth session times may be, packet by packet: `apart_s`, and later than that by the least lateness of
    any packet since the board began, for nobody can see from one side how long the quickest took."""

    def __init__(self, start_s: float, apart_s: float) -> None:
        self._start_s = start_s
        self._apart_s = apart_s
        self._least_late_s = np.inf
        self._last_t_s = -np.inf

    def begin_anew(self) -> None:
        self._least_late_s = np.inf

    def check(self, block: ImuBlock, packet: TracedPacket) -> list[float]:
        """Assert the bound for each sample of a block; gives their errors."""
        late_s = block.arrival_ns * 1e-9 - float(packet.taken_s[-1])
        self._least_late_s = min(self._least_late_s, late_s)
        errors_s = block.t_s - (packet.taken_s - self._start_s)
        assert errors_s.min() >= -self._apart_s
        # Once a quicker packet shows that those before were put late, time stands still rather than step back.
        standing_s = self._last_t_s + 1e-6 * np.arange(1, len(errors_s) + 1)
        assert ((errors_s <= self._least_late_s + self._apart_s) | (block.t_s <= standing_s + 1e-9)).all()
        self._last_t_s = float(block.t_s[-1])
        return errors_s.tolist()


# the counters


def _check_health(outcome: Outcome, sensor: SensorId, tally: Tally) -> None:
    health = next(entry for entry in outcome.health if entry.sensor == sensor)
    assert health.state is LinkState.STREAMING  # it all came back
    assert health.n_samples == tally.n_samples
    assert health.n_lost == tally.n_lost
    assert health.n_malformed == tally.n_spoilt
    assert health.battery_pct == outcome.books[sensor].battery_pct
    levels = [event for event in outcome.events if isinstance(event, BatteryLevel) and event.sensor == sensor]
    assert levels[-1].battery_pct == outcome.books[sensor].battery_pct
