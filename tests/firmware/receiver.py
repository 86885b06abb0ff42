"""What a reader makes of the board's notifications, checked sample by sample against what the IMU measured."""

from __future__ import annotations

import dataclasses
from collections import deque
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from sensors.decode.decoder import Decoder
from sensors.events import RawPacket
from sensors.ids import SensorId
from sensors.profiles.open_imu import OPEN_IMU
from sensors.readings import Gap, Reading
from tests.firmware.board import Board
from tests.firmware.fake_imu import raw_sample

SENSOR = SensorId("C0:00:00:00:00:0F")
DELAY_US = {52: 13559, 104: 6821, 208: 3370, 416: 1656}
"""sqrt(2) / (2 pi f), f = 16.6, 33, 66.8, 135.9 Hz: the low-pass of a second order, worked out by hand."""
# The part's scale is in the data sheet in mdeg/s per count (from memory): 70 at 2000, and in proportion below. The
# profile's count is range / 32768.
COUNTS_PER_RAW = 70e-3 / (2000 / 32768)


def expected_counts(life: int, number: int) -> list[int]:
    raw = raw_sample(life, number)
    return [min(max(round(rate * COUNTS_PER_RAW), -32768), 32767) for rate in raw[:3]] + raw[3:]


def packets(board: Board) -> list[RawPacket]:
    return [RawPacket(arrival_ns=int(at_us * 1e3), sensor=SENSOR, payload=payload) for at_us, payload in board.sent]


@dataclass
class Check:
    n_samples: int = 0
    n_lost: int = 0
    n_restarts: int = 0
    last_errors_us: list[float] = field(default_factory=list)
    """Of each packet's last sample, which is the one that is stamped."""
    errors_us: list[float] = field(default_factory=list)
    """Of every sample, on the device clock."""


def check(board: Board, received: Sequence[RawPacket] | None = None, *, rate_hz: int = 208) -> Check:
    """Decode what was received, or all that was sent, and compare. A gap must tell exactly what is missing."""
    settings = dataclasses.replace(OPEN_IMU.settings, rate_hz=200.0 if rate_hz == 208 else float(rate_hz))
    profile = dataclasses.replace(OPEN_IMU, settings=settings)
    decoder = Decoder(profile)
    scale = np.array([profile.gyr_rad_s_per_count] * 3 + [profile.acc_m_s2_per_count] * 3)
    found = Check()
    last: tuple[int, int] | None = None
    gap: Gap | None = None
    links_ns = deque(int(at_us * 1e3) for at_us in board.linked_us)
    for packet in packets(board) if received is None else received:
        while links_ns and links_ns[0] <= packet.arrival_ns:
            links_ns.popleft()
            decoder.link_again()
        items = decoder.push(packet)
        assert items, "taken for a duplicate"
        for item in items:
            if isinstance(item, Gap):
                gap = item
                continue
            assert isinstance(item, Reading)
            counts = np.rint(np.hstack([item.gyr_sensor_rad_s, item.acc_sensor_m_s2]) / scale).astype(np.int64)
            life, first = int(counts[0, 5]), int(counts[0, 3] & 0xFFFF | counts[0, 4] << 16)
            for i, row in enumerate(counts):
                assert row.tolist() == expected_counts(life, first + i)
            _compare_gap(board, found, last, gap, (life, first))
            last, gap = (life, first + len(counts) - 1), None
            found.n_samples += len(counts)
            origin_us = board.origins_us[board.beginning_of[life]]
            true_us = [board.imu.times_us[life, first + i] - DELAY_US[rate_hz] - origin_us for i in range(len(counts))]
            # The reader counts wraps from the first packet that it saw.
            errors_us = ((item.device_s * 1e6 - true_us + 2**31) % 2**32 - 2**31).tolist()
            found.errors_us += errors_us
            found.last_errors_us.append(errors_us[-1])
    assert decoder.n_duplicates == 0
    return found


def _compare_gap(
    board: Board, found: Check, last: tuple[int, int] | None, gap: Gap | None, first: tuple[int, int]
) -> None:
    if last is None:
        assert gap is None
        return
    if board.beginning_of[last[0]] != board.beginning_of[first[0]]:
        assert gap is not None
        assert gap.restarted
        found.n_restarts += 1
        return
    if last[0] != first[0]:  # browned out in between: its numbers began anew, only time can tell
        assert gap is not None
        assert not gap.restarted
        n_spacings = (board.imu.times_us[first] - board.imu.times_us[last]) / (board.imu.spacing_us or 0.0)
        assert abs(gap.n_lost + 1 - n_spacings) <= 1.0
        found.n_lost += gap.n_lost
        return
    n_missing = first[1] - last[1] - 1
    if gap is None:
        assert n_missing == 0
    else:
        assert not gap.restarted
        assert gap.n_lost == n_missing
        found.n_lost += gap.n_lost
