"""`pitchbend analyse`: every instant and every rep of a recording, for other programs."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer
from rich.console import Console

from sensors.record.watched import watched
from server.analysis.analysis import Analysis
from server.analysis.files import analysed_into
from server.cli.analysis_tables import analysed_reps_table, constants_table, missing_sentences, moves_table
from server.cli.failures import CommandFailed
from server.cli.options import Recording
from server.cli.progress import QuietBar
from server.cli.remark_words import remark_sentences
from server.cli.tables import damage_sentences, minutes
from server.file_advice import not_written_sentence
from server.mounting_advice import mounting_advice, mounting_sentence
from server.turned_advice import turned_advice
from server.whole_file import FileNotWritten


def analyse(
    file: Recording,
    *,
    series: Annotated[
        Path | None, typer.Option(metavar="PARQUET", help="Write every instant here: angles, uncertainty, quality.")
    ] = None,
    reps: Annotated[Path | None, typer.Option(metavar="JSON", help="Write every rep here.")] = None,
) -> None:
    """Work out a recording: every instant to Parquet, every rep to JSON, a summary here.

    Takes any recording, made live or by **pitchbend import-imu**. Files of the same name are replaced. What the columns
    mean is in **docs/import-and-analysis.md**.
    """
    places = [path.resolve() for path in (file, series, reps) if path is not None]
    if len(set(places)) < len(places):
        raise CommandFailed("The recording, the series and the reps need a file each: choose different names.")
    analysis = Analysis(file)
    try:
        _run(analysis, series, reps)
    except FileNotWritten as failure:
        raise CommandFailed(not_written_sentence(failure)) from failure
    show(analysis, Console())


def _run(analysis: Analysis, series: Path | None, reps: Path | None) -> None:
    with QuietBar("Working it out") as bar:
        for _ in watched(analysed_into(analysis, series, reps), lambda: bar.show_reading(analysis.report)):
            pass


def show(analysis: Analysis, console: Console) -> None:
    """Print what was found."""
    for sentence in damage_sentences(analysis.report):
        console.print(f"[yellow]{sentence}[/]")
    if analysis.moves.by_move:
        console.print(moves_table(analysis.moves))
    if not analysis.moves.complete:
        console.print("The fit is not complete, so there are no wrist angles: some of these moves are needed.")
    for sentence in missing_sentences(analysis.moves):
        console.print(sentence)
    report = analysis.moves.report
    if report is not None:
        console.print(constants_table(report))
        for mounting in report.mountings:
            console.print(f"{mounting_sentence(mounting)} {mounting_advice(mounting)}".rstrip())
    for told in analysis.turned:
        console.print(f"At {minutes(told.t_s)}: {turned_advice(told, replayed=True)}")
    if analysis.reps:
        console.print(analysed_reps_table(analysis.reps))
    else:
        console.print("No swings in it.")
    for sentence in remark_sentences(analysis.remarks):
        console.print(sentence, soft_wrap=True, highlight=False, markup=False)
