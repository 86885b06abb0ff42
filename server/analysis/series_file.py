"""The series as Parquet or CSV: a row an instant, a row group a minute, so that memory does not grow with the practice."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Final, Protocol

import pyarrow as pa
from pyarrow import csv, parquet

from fusion.outputs import Moment, Pose
from server.analysis.host_clock import HostClock
from server.analysis.quantities import QUANTITIES, quality_of, values_of

ROW_GROUP_S: Final = 60.0
POSED: Final = ("forearm", "hand", "club")


def pose_columns(segment: str) -> tuple[str, ...]:
    """Name the columns that hold a segment's quaternion, w first."""
    return tuple(f"q_earth_from_{segment}_{part}" for part in "wxyz")


_POSE_COLUMNS: Final = tuple(name for segment in POSED for name in pose_columns(segment))
_NO_POSE: Final = (None,) * len(_POSE_COLUMNS)


def series_schema(*, poses: bool = False) -> pa.Schema:
    """Columns with their units and meanings, which any Parquet reader shows."""
    fields = [
        _field("host_time_s", pa.float64(), "s", "when the forearm sample was taken, on the clock of arrival"),
        _field("phase", pa.string(), "", "phase of the swing"),
    ]
    for quantity in QUANTITIES:
        fields.append(_field(quantity.name, pa.float64(), quantity.unit, quantity.meaning))
        fields.append(_field(quantity.sd_name, pa.float64(), quantity.unit, "one standard deviation of it"))
    fields.append(_field("quality", pa.string(), "", "ok, or why values are absent"))
    if poses:
        fields.extend(
            _field(name, pa.float64(), "", "part of a unit quaternion, the address's earth from the segment")
            for name in _POSE_COLUMNS
        )
    return pa.schema(fields)


def _field(name: str, kind: pa.DataType, unit: str, meaning: str) -> pa.Field:
    return pa.field(name, kind, metadata={"unit": unit, "meaning": meaning})


class TableWriter(Protocol):
    """What is asked of a file of rows."""

    def write_table(self, table: pa.Table) -> None:
        """Append the rows."""


class SeriesFile:
    """Takes moments in order and writes them a minute at a time. Raises OSError when the disk fails."""

    def __init__(self, writer: TableWriter, clock: HostClock, *, poses: bool = False) -> None:
        self._writer = writer
        self._wants_poses = poses
        self._schema = series_schema(poses=poses)
        self._clock = clock
        self.n_rows = 0
        self._start_s = 0.0
        self._begin()

    def add(self, moments: tuple[Moment, ...]) -> None:
        """Add the instants that a packet completed."""
        for moment in moments:
            if self._times and moment.t_s - self._start_s >= ROW_GROUP_S:
                self.flush()
            if not self._times:
                self._start_s = moment.t_s
            self._times.append(self._clock.host_s(moment.t_s))
            self._phases.append(moment.phase.value)
            self._qualities.append(quality_of(moment.doubt))
            self._values.append(values_of(moment.angles))
            self._spreads.append(values_of(moment.spread))
            if self._wants_poses:
                self._poses.append(_pose_values(moment.pose))

    def flush(self) -> None:
        """Write what waits as one row group."""
        if not self._times:
            return
        columns = [pa.array(self._times), pa.array(self._phases)]
        for values, spreads in zip(zip(*self._values, strict=True), zip(*self._spreads, strict=True), strict=True):
            columns.append(pa.array(values, type=pa.float64()))
            columns.append(pa.array(spreads, type=pa.float64()))
        columns.append(pa.array(self._qualities))
        columns.extend(pa.array(values, type=pa.float64()) for values in zip(*self._poses, strict=True))
        self._writer.write_table(pa.Table.from_arrays(columns, schema=self._schema))
        self.n_rows += len(self._times)
        self._begin()

    def _begin(self) -> None:
        self._times: list[float] = []
        self._phases: list[str] = []
        self._qualities: list[str] = []
        self._values: list[list[float | None]] = []
        self._spreads: list[list[float | None]] = []
        self._poses: list[Sequence[float | None]] = []


def _pose_values(pose: Pose | None) -> Sequence[float | None]:
    if pose is None:
        return _NO_POSE
    return (*pose.q_earth_from_forearm, *pose.q_earth_from_hand, *pose.q_earth_from_club)


@contextmanager
def series_file(path: Path, clock: HostClock) -> Iterator[SeriesFile]:
    """Open a series for writing; leaving it without an error completes it."""
    with parquet.ParquetWriter(path, series_schema(), compression="zstd") as writer:
        series = SeriesFile(writer, clock)
        yield series
        series.flush()


@contextmanager
def csv_series_file(path: Path, clock: HostClock) -> Iterator[SeriesFile]:
    """Open a series as CSV, names with units in the first line, absent values empty."""
    with csv.CSVWriter(path, series_schema()) as writer:
        series = SeriesFile(writer, clock)
        yield series
        series.flush()
