"""What can be wrong with files to be imported. Data only: `server/import_advice.py` has the sentences."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path


class Fault(StrEnum):
    """What is wrong, by whose doing: almost always the program that wrote the file."""

    UNREADABLE = "unreadable"
    EMPTY = "empty"
    NOT_UTF8 = "not_utf8"
    MISSING_COLUMN = "missing_column"
    REPEATED_COLUMN = "repeated_column"
    NO_ROWS = "no_rows"
    UNEVEN_ROW = "uneven_row"
    """A row has more or fewer fields than the header."""
    NOT_A_NUMBER = "not_a_number"
    NOT_FINITE = "not_finite"
    DEVICE_TIME_BACK = "device_time_back"
    DEVICE_TIME_SAME = "device_time_same"
    ARRIVAL_BACK = "arrival_back"
    RATE = "rate"
    """The device times make no sampling rate of an inertial sensor."""
    NO_OVERLAP = "no_overlap"
    """The two sensors were never there at the same time."""
    MARKS = "marks"
    """The marks do not have the form that is asked for."""
    MARKS_ELSEWHERE = "marks_elsewhere"
    """All moves lie outside the data."""


class ImportFault(Exception):
    """A file cannot be imported. `line` counts from 1, the header; `found` is what stands there."""

    def __init__(self, path: Path, fault: Fault, *, line: int | None = None, column: str = "", found: str = "") -> None:
        self.path = path
        self.fault = fault
        self.line = line
        self.column = column
        self.found = found
        super().__init__(f"{path}: {fault.value} (line {line}, column {column!r}, found {found!r})")
