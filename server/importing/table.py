"""One sensor's CSV file, streamed in blocks and checked on the way, in memory that does not grow with it."""

from __future__ import annotations

import csv
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType
from typing import IO, Final, Self

import numpy as np
import pyarrow as pa
from numpy.typing import NDArray
from pyarrow import csv as arrow_csv

from sensors.profiles.float_imu import LARGEST
from server.importing.diagnose import diagnose, line_of_row
from server.importing.faults import Fault, ImportFault

DEVICE_TIME: Final = "device_time_s"
ARRIVAL_TIME: Final = "arrival_time_s"
COLUMNS: Final = (
    DEVICE_TIME,
    ARRIVAL_TIME,
    "gyr_x_rad_s",
    "gyr_y_rad_s",
    "gyr_z_rad_s",
    "acc_x_m_s2",
    "acc_y_m_s2",
    "acc_z_m_s2",
)
BLOCK_BYTES: Final = 1 << 20
"""About 45 s of one sensor at 200 Hz."""
RESTART_STEP_S: Final = 1.0
"""A device time that steps back by more than this is a device that began anew; by less, rows are out of order."""
_HEADER_BYTES: Final = 1 << 16


@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """Rows that passed every check."""

    device_s: NDArray[np.float64]
    arrival_s: NDArray[np.float64]
    values: NDArray[np.float64]
    """Shape (n, 6): gyroscope x y z in rad/s, accelerometer x y z in m/s2."""


class ImuTable:
    """Context manager over one file. Entering reads its header and first block; `blocks` can be asked for once."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.n_rows = 0
        self._last_device_s = -np.inf
        self.last_arrival_s = -np.inf
        """Arrival of the newest row read so far."""

    def __enter__(self) -> Self:
        """Open the file. Raises `ImportFault` when header or first block are at fault."""
        try:
            self._file: IO[bytes] = self.path.open("rb")
            self.size_bytes = self.path.stat().st_size
        except (OSError, ValueError) as error:  # ValueError: a name that no file can have
            raise ImportFault(
                self.path, Fault.UNREADABLE, found=getattr(error, "strerror", "") or str(error)
            ) from error
        try:
            self._check_header()
            self._blocks = self._checked()
            self.first = self._first_block()
        except BaseException:
            self._file.close()
            raise
        return self

    def __exit__(
        self, exc_type: type[BaseException] | None, exc: BaseException | None, tb: TracebackType | None
    ) -> None:
        self._file.close()

    @property
    def read_bytes(self) -> int:
        """How far reading has come."""
        return self.size_bytes if self._file.closed else self._file.tell()

    def blocks(self) -> Iterator[Block]:
        """All rows in order; raises `ImportFault` where one is at fault."""
        yield self.first
        yield from self._blocks

    def _first_block(self) -> Block:
        block = next(self._blocks, None)
        if block is None:
            raise ImportFault(self.path, Fault.NO_ROWS)
        return block

    def _check_header(self) -> None:
        start = self._file.read(_HEADER_BYTES)
        if not start.strip():
            raise ImportFault(self.path, Fault.EMPTY)
        line = start.splitlines()[0]
        try:
            header = next(csv.reader([line.decode("utf-8-sig")]))
        except (UnicodeDecodeError, csv.Error) as error:
            raise ImportFault(self.path, Fault.NOT_UTF8) from error
        for column in COLUMNS:
            if column not in header:
                raise ImportFault(self.path, Fault.MISSING_COLUMN, column=column, found=", ".join(header))
            if header.count(column) > 1:
                raise ImportFault(self.path, Fault.REPEATED_COLUMN, column=column)
        self._file.seek(0)

    def _checked(self) -> Iterator[Block]:
        try:
            reader = arrow_csv.open_csv(
                self._file,
                read_options=arrow_csv.ReadOptions(use_threads=False, block_size=BLOCK_BYTES),
                convert_options=arrow_csv.ConvertOptions(
                    include_columns=list(COLUMNS),
                    column_types=dict.fromkeys(COLUMNS, pa.float64()),
                    null_values=[],
                ),
            )
            for batch in reader:
                if batch.num_rows:
                    table = np.column_stack([column.to_numpy(zero_copy_only=False) for column in batch.columns])
                    yield self._block(table)
        except pa.ArrowInvalid as error:
            raise diagnose(self.path, COLUMNS, str(error)) from error
        except OSError as error:
            raise ImportFault(self.path, Fault.UNREADABLE, found=error.strerror or str(error)) from error

    def _block(self, table: NDArray[np.float64]) -> Block:
        sensible = np.abs(table) <= LARGEST  # false for NaN
        if not sensible.all():
            row, column = np.argwhere(~sensible)[0]
            raise self._fault(Fault.NOT_FINITE, int(row), COLUMNS[column], str(table[row, column]))
        device_s, arrival_s = table[:, 0], table[:, 1]
        steps_s = np.diff(device_s, prepend=self._last_device_s)
        waits_s = np.diff(arrival_s, prepend=self.last_arrival_s)
        back = (steps_s < 0.0) & (steps_s > -RESTART_STEP_S)
        for fault, column, wrong in (
            (Fault.ARRIVAL_BACK, 1, waits_s < 0.0),
            (Fault.DEVICE_TIME_BACK, 0, back),
            (Fault.DEVICE_TIME_SAME, 0, steps_s == 0.0),
        ):
            if wrong.any():
                row = int(np.argmax(wrong))
                raise self._fault(fault, row, COLUMNS[column], repr(float(table[row, column])))
        self._last_device_s, self.last_arrival_s = float(device_s[-1]), float(arrival_s[-1])
        self.n_rows += len(table)
        return Block(device_s=device_s, arrival_s=arrival_s, values=table[:, 2:])

    def _fault(self, fault: Fault, row: int, column: str, found: str) -> ImportFault:
        line = line_of_row(self.path, self.n_rows + row)
        return ImportFault(self.path, fault, line=line, column=column, found=found)
