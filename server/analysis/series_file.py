"""The series as Parquet or CSV: a row an instant, a row group a minute, so that memory does not grow with the practice."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Final, Protocol

import pyarrow as pa
from pyarrow import compute, csv, parquet

from fusion.outputs.instant import Angles, Doubt, Moment, Phase, Pose, Spread
from server.analysis.host_clock import HostClock
from server.analysis.quantities import QUANTITIES, quality_of

ROW_GROUP_S: Final = 60.0
POSED: Final = ("forearm", "hand", "club")


def pose_columns(segment: str) -> tuple[str, ...]:
    """Name the columns that hold a segment's quaternion, w first."""
    return tuple(f"q_earth_from_{segment}_{part}" for part in "wxyz")


_POSE_COLUMNS: Final = tuple(name for segment in POSED for name in pose_columns(segment))
_PHASES: Final = {phase: phase.value for phase in Phase}
_QUALITIES: Final = {doubt: quality_of(doubt) for doubt in Doubt}
_PART: Final = 500
_BESIDE: Final = 2
"""Columns before those of the quantities: time and phase."""
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
        self._begun_s: float | None = None
        """First instant of the row group."""
        self._moments: list[Moment] = []
        self._parts: list[list[pa.Array]] = []
        """What came before them in the row group, by columns, in inside units."""

    def add(self, moments: tuple[Moment, ...]) -> None:
        """Add the instants that a packet completed."""
        if self._begun_s is not None and moments and moments[-1].t_s - self._begun_s < ROW_GROUP_S:
            self._moments.extend(moments)  # nearly every packet
            if len(self._moments) >= _PART:
                self._lay_out()
            return
        for moment in moments:
            if self._begun_s is None or moment.t_s - self._begun_s >= ROW_GROUP_S:
                self.flush()
                self._begun_s = moment.t_s
            self._moments.append(moment)

    def _lay_out(self) -> None:
        """Put what waits into columns while it is still at hand: objects of a minute ago take six times as long to go through."""
        moments = self._moments
        host_s = self._clock.host_s
        columns = [pa.array([host_s(one.t_s) for one in moments]), pa.array([_PHASES[one.phase] for one in moments])]
        angles = dict(zip(Angles._fields, zip(*(one.angles for one in moments), strict=True), strict=True))
        spreads = dict(zip(Spread._fields, zip(*(one.spread for one in moments), strict=True), strict=True))
        for quantity in QUANTITIES:
            columns.extend(pa.array(place[quantity.source], type=pa.float64()) for place in (angles, spreads))
        columns.append(pa.array([_QUALITIES[one.doubt] for one in moments]))
        if self._wants_poses:
            poses = zip(*(_pose_values(one.pose) for one in moments), strict=True)
            columns.extend(pa.array(values, type=pa.float64()) for values in poses)
        self._parts.append(columns)
        moments.clear()

    def flush(self) -> None:
        """Write what waits as one row group."""
        if self._moments:
            self._lay_out()
        self._begun_s = None
        if not self._parts:
            return
        columns = [pa.concat_arrays(parts) for parts in zip(*self._parts, strict=True)]
        self._parts.clear()
        for i, quantity in enumerate(QUANTITIES):
            for k in (_BESIDE + 2 * i, _BESIDE + 2 * i + 1):
                columns[k] = compute.multiply(columns[k], quantity.factor)
        self._writer.write_table(pa.Table.from_arrays(columns, schema=self._schema))
        self.n_rows += len(columns[0])


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
