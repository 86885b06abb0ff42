"""`pitchbend import-imu`: data of other sensors, as CSV and marks, made into a recording."""

from __future__ import annotations

import time
from contextlib import ExitStack
from pathlib import Path
from typing import Annotated

import typer
from rich.console import Console

from sensors.errors import RecorderError
from sensors.ids import Role
from sensors.record.reader import read_head
from sensors.record.summary import Summariser
from sensors.record.watched import watched
from sensors.record.writer import Recorder
from server.analysis.host_clock import ZERO_NOTE
from server.cli.failures import CommandFailed, tell
from server.cli.options import Force
from server.cli.progress import QuietBar
from server.cli.tables import contents_table, sensors_table
from server.file_advice import not_written_sentence
from server.import_advice import fault_sentence, oddity_sentence
from server.importing.events import ImportedStream
from server.importing.faults import ImportFault
from server.importing.marks import read_marks
from server.importing.plausible import oddities
from server.importing.table import ImuTable
from server.whole_file import FileNotWritten, whole_file

_UNIX_S = (1_000_000_000, 4_000_000_000)
"""An arrival clock within these counts seconds since 1970, so the recording can say on what day it was."""


def import_imu(
    *,
    forearm: Annotated[Path, typer.Option(metavar="CSV", help="Samples of the sensor on the lead forearm.")],
    club: Annotated[Path, typer.Option(metavar="CSV", help="Samples of the sensor on the club.")],
    marks: Annotated[Path, typer.Option(metavar="JSON", help="Who swung, and when which fit move was made.")],
    output: Annotated[Path, typer.Option("--output", "-o", metavar="FILE", help="The recording to make (.mcap).")],
    force: Force = False,
) -> None:
    """Make a recording from data of other sensors.

    Two CSV files, one a sensor, and a JSON file of marks; **docs/import-and-analysis.md** describes both. Then go on with
    **pitchbend analyse FILE**, or **pitchbend replay FILE**.
    """
    try:
        summariser = _convert({Role.FOREARM: forearm, Role.CLUB: club}, marks, output, force=force)
    except ImportFault as fault:
        raise CommandFailed(fault_sentence(fault)) from fault
    except FileNotWritten as failure:
        raise CommandFailed(not_written_sentence(failure)) from failure
    console = Console()
    summary = summariser.summary()
    console.print(contents_table(read_head(output), summary))
    console.print(sensors_table(summary.sensors))


def _convert(paths: dict[Role, Path], marks_path: Path, output: Path, *, force: bool) -> Summariser:
    marks = read_marks(marks_path)
    if marks.unknown_fields:
        tell(f"{marks_path}: not known here, and left out: {', '.join(marks.unknown_fields)}.")
    summariser = Summariser()
    with ExitStack() as stack:
        tables = {role: stack.enter_context(ImuTable(path)) for role, path in paths.items()}
        stream = ImportedStream(tables, marks, marks_path)
        for table in tables.values():
            for oddity in oddities(table.first.values):
                tell(oddity_sentence(table.path, oddity))
        place = stack.enter_context(whole_file(output, overwrite=force))
        notes = {
            "origin": f"imported from {paths[Role.FOREARM].name} and {paths[Role.CLUB].name}",
            ZERO_NOTE: str(stream.zero_s),
        }
        is_unix = _UNIX_S[0] < stream.zero_s < _UNIX_S[1]
        wall_clock_ns = (lambda: stream.first_ns + stream.zero_s * 1_000_000_000) if is_unix else time.time_ns
        bar = stack.enter_context(QuietBar("Importing"))
        try:
            with Recorder(place, notes=notes, wall_clock_ns=wall_clock_ns) as recorder:
                _write(stream, tables, recorder, summariser, bar)
        except RecorderError as error:
            raise error.cause from error
    for name in stream.outside:
        tell(f"{marks_path}: {name} lies outside the data and counts for nothing.")
    return summariser


def _write(
    stream: ImportedStream,
    tables: dict[Role, ImuTable],
    recorder: Recorder,
    summariser: Summariser,
    bar: QuietBar,
) -> None:
    size_bytes = sum(table.size_bytes for table in tables.values())

    def look() -> None:
        bar.show(sum(table.read_bytes for table in tables.values()), size_bytes)

    for event in watched(stream.events(), look):
        recorder.write(event)
        summariser.push(event)
