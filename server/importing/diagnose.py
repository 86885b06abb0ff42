"""Where in a CSV file the trouble is. Reads the file again, row by row: slow, and only ever done once something is wrong."""

from __future__ import annotations

import csv
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

from server.importing.faults import Fault, ImportFault


def diagnose(path: Path, columns: Sequence[str], message: str) -> ImportFault:
    """Find the first row that is no row of numbers; `message` is what the fast reader said, kept if none is found."""
    with _rows(path) as rows:
        _, header = next(rows, (1, []))
        places = [(header.index(name), name) for name in columns if name in header]
        line = None
        for line, row in rows:
            if len(row) != len(header):
                return ImportFault(path, Fault.UNEVEN_ROW, line=line, found=f"{len(row)} instead of {len(header)}")
            for place, name in places:
                try:
                    float(row[place])
                except ValueError:
                    return ImportFault(path, Fault.NOT_A_NUMBER, line=line, column=name, found=row[place])
    return ImportFault(path, Fault.NO_ROWS if line is None else Fault.UNEVEN_ROW, found=message)


def line_of_row(path: Path, index: int) -> int | None:
    """Give the line in which the row of data number `index`, from 0, ends; the header is in line 1."""
    with _rows(path) as rows:
        next(rows, None)
        for number, (line, _) in enumerate(rows):
            if number == index:
                return line
    return None


@contextmanager
def _rows(path: Path) -> Iterator[Iterator[tuple[int, list[str]]]]:
    """Rows that are not empty, each with its line."""
    with path.open(encoding="utf-8-sig", errors="replace", newline="") as file:
        reader = csv.reader(file)
        yield ((reader.line_num, row) for row in reader if row)
