"""The reps as one flat table for spreadsheets: a row a rep, a column a figure."""

from __future__ import annotations

import csv
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from server.analysis.reps_file import MarkValues, RepRecord, Values

_LISTS_APART_BY = "; "


def columns() -> list[str]:
    """Column names: those of the JSON, with a mark's name in front of its values."""
    plain = [name for name in RepRecord.model_fields if name != "values"]
    return plain + [f"{mark}_{name}" for mark in Values.model_fields for name in MarkValues.model_fields]


def write_reps(path: Path, records: Sequence[RepRecord]) -> None:
    """Write the table; absent values are empty. Raises OSError when the disk fails."""
    with path.open("w", encoding="utf-8", newline="") as handle:
        writer = csv.DictWriter(handle, columns(), restval="")
        writer.writeheader()
        writer.writerows(_row(record) for record in records)


def _row(record: RepRecord) -> dict[str, object]:
    row: dict[str, Any] = record.model_dump(exclude={"values"})
    row |= {name: _LISTS_APART_BY.join(row[name]) for name in ("flags", "notes")}
    for mark in Values.model_fields:
        values: MarkValues | None = getattr(record.values, mark)
        if values is not None:
            row |= {f"{mark}_{name}": value for name, value in values.model_dump().items()}
    return {name: "" if value is None else value for name, value in row.items()}
