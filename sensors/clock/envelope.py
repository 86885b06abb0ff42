"""Device time to session time from nothing but arrival stamps.

A packet arrives at once or late, never early: the arrival stamps lie on or above a straight line in device time, and
that line is the clock relation. The line below all points that comes closest to them is an edge of their lower convex
hull, the one above the mean device time: the linear programme of Moon, Skelly and Towsley, "Estimation and removal of
clock skew from network delay measurements" (INFOCOM 1999; citation from memory), solved by the hull.

The constant part of the delay (sampling to sending, shortest radio wait) cannot be seen from one side and stays in.
"""

from __future__ import annotations

import bisect
import statistics
from collections import deque
from dataclasses import dataclass

_BUCKET_S = 1.0
"""One point, the least delayed packet, is kept per bucket of device time."""
_WINDOW_BUCKETS = 180
_SLOPE_AFTER_S = 20.0
"""Below this span the drift is not separable from jitter: offset only."""
_MAX_DRIFT = 200e-6
"""Quartz on such boards is within 50 ppm, poor parts within 100; more is jitter mistaken for drift."""

_Point = tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class ClockFit:
    """How a sensor's clock stands to the session's, and how well that is known."""

    offset_s: float
    """Session time less device time at the newest packet."""
    drift_ppm: float | None
    """Session time gained a million of the device's; None while the fit spans too little to tell."""
    spread_s: float
    """How far above the line the least delayed packet of a second lies, median: small when many come at once."""
    span_s: float
    """Device time that the fit rests on."""


class EnvelopeClock:
    """Running clock fit of one sensor. `push` takes a packet's last sample, `session_s` maps any device time."""

    def __init__(self) -> None:
        self._buckets: deque[_Point] = deque()
        """Device time and arrival less device time, one per bucket, in order."""
        self._times_s: deque[float] = deque()
        """Their device times alone: of these a mean is wanted at every new bucket, and Python sums no faster than this."""
        self._settled: list[_Point] = []
        """Lower hull of all buckets but the newest, whose packet may yet be replaced."""
        self._device_ref_s = 0.0
        self._offset_s = 0.0
        self._drift = 0.0

    @property
    def drift(self) -> float:
        """Session seconds gained per device second, dimensionless (1e-6 = 1 ppm)."""
        return self._drift

    @property
    def fit(self) -> ClockFit | None:
        """The fit in force; None before the first packet."""
        if not self._buckets:
            return None
        span_s = self._buckets[-1][0] - self._buckets[0][0]
        above_s = [y - self._offset_s - self._drift * (x - self._device_ref_s) for x, y in self._buckets]
        return ClockFit(
            offset_s=self._offset_s,
            drift_ppm=self._drift * 1e6 if span_s >= _SLOPE_AFTER_S else None,
            spread_s=statistics.median(above_s),
            span_s=span_s,
        )

    def push(self, device_s: float, arrival_s: float) -> None:
        """Take in one packet: device time of its last sample, and its arrival on the session clock."""
        delay_s = arrival_s - device_s
        buckets = self._buckets
        if buckets and device_s - _BUCKET_S < _bucket_start(buckets[-1][0]) <= device_s:
            if delay_s >= buckets[-1][1]:
                return
            buckets[-1] = (device_s, delay_s)
            self._times_s[-1] = device_s
        else:
            if buckets:
                _extend(self._settled, buckets[-1])
            buckets.append((device_s, delay_s))
            self._times_s.append(device_s)
            if len(buckets) > _WINDOW_BUCKETS:
                self._drop_oldest()
        self._fit()

    def session_s(self, device_s: float) -> float:
        """Session time of a device time, seconds."""
        return device_s + self._offset_s + self._drift * (device_s - self._device_ref_s)

    def device_s(self, session_s: float) -> float:
        """Device time of a session time, seconds."""
        return (session_s - self._offset_s + self._drift * self._device_ref_s) / (1.0 + self._drift)

    def _drop_oldest(self) -> None:
        """Let the oldest bucket go: of the hull only what lies before its second corner changes."""
        self._buckets.popleft()
        self._times_s.popleft()
        second = self._settled[1]
        exposed: list[_Point] = []
        for point in self._buckets:
            _extend(exposed, point)
            if point == second:
                break
        self._settled[:2] = exposed

    def _fit(self) -> None:
        buckets = self._buckets
        self._device_ref_s = buckets[-1][0]
        span_s = buckets[-1][0] - buckets[0][0]
        if span_s < _SLOPE_AFTER_S:
            self._offset_s, self._drift = min(delay_s for _, delay_s in buckets), 0.0
            return
        hull = self._settled.copy()
        _extend(hull, buckets[-1])
        middle_s = sum(self._times_s) / len(buckets)
        i = min(max(bisect.bisect_right(hull, (middle_s, float("inf"))), 1), len(hull) - 1)
        (x0, y0), (x1, y1) = hull[i - 1], hull[i]
        drift = min(max((y1 - y0) / (x1 - x0), -_MAX_DRIFT), _MAX_DRIFT)
        self._drift = drift
        self._offset_s = min(y - drift * (x - self._device_ref_s) for x, y in hull)


def _bucket_start(device_s: float) -> float:
    return device_s // _BUCKET_S * _BUCKET_S


def _extend(hull: list[_Point], point: _Point) -> None:
    """Add a point to the right of a lower convex hull (a step of Andrew's monotone chain)."""
    x, y = point
    while len(hull) >= 2:
        (x0, y0), (x1, y1) = hull[-2], hull[-1]
        if (x1 - x0) * (y - y0) > (x - x0) * (y1 - y0):
            break
        hull.pop()
    hull.append(point)
