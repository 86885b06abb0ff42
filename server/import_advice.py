"""What to tell a person about files that cannot be imported: which file, where in it, and what to change."""

from __future__ import annotations

from pathlib import Path
from typing import assert_never

from server.importing.faults import Fault, ImportFault
from server.importing.plausible import Oddity
from server.importing.table import COLUMNS

_FORM = "see docs/import-and-analysis.md for the form"


def fault_sentence(fault: ImportFault) -> str:
    """Say what is wrong and what to do, in one sentence."""
    place = f"{fault.path}, line {fault.line}" if fault.line is not None else f"{fault.path}"
    return f"{place}: {_clause(fault)}."


def _clause(fault: ImportFault) -> str:  # noqa: C901, PLR0911, PLR0912  # a table: one case a member, checked to be complete
    column, found = fault.column, fault.found
    match fault.fault:
        case Fault.UNREADABLE:
            return f"it cannot be read ({found}); check the name and who may read it"
        case Fault.EMPTY:
            return "the file is empty; export it again"
        case Fault.NOT_UTF8:
            return "the file is not UTF-8 text; export it as CSV or JSON in UTF-8"
        case Fault.MISSING_COLUMN:
            advice = f"there is no column {column} (there are: {found}); rename or add it, {_FORM}"
            return advice if "," in found or len(COLUMNS) == 1 else advice + "; columns are parted by commas"
        case Fault.REPEATED_COLUMN:
            return f"there are two columns {column}; remove one"
        case Fault.NO_ROWS:
            return "there are too few rows to import; export it again"
        case Fault.UNEVEN_ROW:
            return (
                f"the row does not have as many fields as the header ({found}); export the file again or remove the row"
            )
        case Fault.NOT_A_NUMBER:
            return f"{column} is {found!r}, which is no number; write numbers with a decimal point, leave out rows that lack one"
        case Fault.NOT_FINITE:
            return f"{column} is {found}; leave out rows in which the sensor gave no value"
        case Fault.DEVICE_TIME_BACK:
            return f"{column} goes back to {found}; sort the rows as the sensor measured them"
        case Fault.DEVICE_TIME_SAME:
            return f"{column} is {found} for the second time; every sample needs a time of its own, in seconds with enough digits"
        case Fault.ARRIVAL_BACK:
            return f"{column} goes back to {found}; it must be a clock that never steps back, rows in order of arrival"
        case Fault.RATE:
            return f"its device times make {found} samples a second; device_time_s must be in seconds, at 20 a second or more"
        case Fault.NO_OVERLAP:
            return (
                "the two sensors were never there at the same time; arrival_time_s must be of one clock in both files"
            )
        case Fault.MARKS:
            where = f"{column}: " if column else ""
            return f"the marks are not as they should be ({where}{found}); {_FORM}"
        case Fault.MARKS_ELSEWHERE:
            return f"no move lies within the data ({found} s); start_s and end_s must be on the clock of arrival_time_s"
        case _:
            assert_never(fault.fault)


def oddity_sentence(path: Path, oddity: Oddity) -> str:
    """Warn of what looks like a wrong unit."""
    match oddity:
        case Oddity.ACC_UNIT:
            return f"{path}: accelerations do not look like m/s² (at rest a sensor reads 9.8); the columns must be converted."
        case Oddity.GYR_UNIT:
            return f"{path}: rates are faster than any sensor measures; they look like degrees, and must be in rad/s."
        case _:
            assert_never(oddity)
