"""`pitchbend export`: a recording as files for spreadsheets and motion laboratories."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer
from rich.console import Console

from sensors.record.watched import watched
from server.cli.failures import CommandFailed
from server.cli.options import Force, Recording
from server.cli.progress import QuietBar
from server.cli.tables import damage_sentences
from server.export.folder import FolderExport, Form
from server.file_advice import not_written_sentence
from server.whole_file import FileNotWritten


def export(
    file: Recording,
    *,
    to: Annotated[
        Path, typer.Option("--to", metavar="FOLDER", file_okay=False, help="Where the files go; made if need be.")
    ],
    form: Annotated[
        list[Form] | None,
        typer.Option("--as", help="csv, opensim or c3d; may be given several times. All of them if left out."),
    ] = None,
    force: Force = False,
) -> None:
    """Write a recording as files for other programs.

    **series.csv** and **reps.csv** for spreadsheets; for each swing an orientation file that OpenSim reads (**.sto**) and points
    with the swing's marks (**.c3d**). Units and axes are in **docs/export.md**.
    """
    forms = frozenset(form or Form)
    exporting = FolderExport(file, to, forms, overwrite=force)
    try:
        to.mkdir(parents=True, exist_ok=True)
        with QuietBar("Writing") as bar:
            for _ in watched(exporting.run(), lambda: bar.show_reading(exporting.analysis.report)):
                pass
    except FileNotWritten as failure:
        raise CommandFailed(not_written_sentence(failure)) from failure
    except OSError as error:
        raise CommandFailed(not_written_sentence(FileNotWritten(to, error))) from error
    console = Console()
    for sentence in damage_sentences(exporting.analysis.report):
        console.print(f"[yellow]{sentence}[/]")
    for sentence in _sentences(exporting, forms, to):
        console.print(sentence, soft_wrap=True, highlight=False)


def _sentences(exporting: FolderExport, forms: frozenset[Form], folder: Path) -> list[str]:
    out = []
    n_reps, written = len(exporting.analysis.reps), exporting.written
    if Form.CSV in forms:
        out.append(f"{folder / 'reps.csv'} has {n_reps} reps, {folder / 'series.csv'} every instant.")
    if forms & {Form.OPENSIM, Form.C3D}:
        out.append(f"{written.n_swings} swings have files of their own.")
        if written.n_unknown:
            out.append(f"{written.n_unknown} have none: their angles could not be trusted.")
    if not n_reps:
        out.append("No swings in it.")
    return out
