"""`pitchbend report`: a practice on paper."""

from __future__ import annotations

from importlib.util import find_spec
from pathlib import Path
from typing import Annotated

import typer
from rich.console import Console

from sensors.record.watched import watched
from server.answer.form import AnswerInvalid
from server.cli.failures import CommandFailed
from server.cli.options import Force, LengthUnits, Recording
from server.cli.progress import QuietBar
from server.cli.tables import damage_sentences
from server.file_advice import not_written_sentence
from server.units import units_here
from server.whole_file import FileNotWritten, whole_file


def report(
    file: Recording,
    *,
    output: Annotated[
        Path | None, typer.Option("--output", "-o", metavar="PDF", help="The file to make; by default beside FILE.")
    ] = None,
    force: Force = False,
    units: LengthUnits = None,
) -> None:
    """Make a report of a practice to print: two sheets of A4 with pictures, as PDF.

    One thing to change, the reps, the figures at shaft level, lead arm level and the top, the lines of bend and pitch, and
    the middle swing drawn from two sides. A coach's answer in the recording gives its priority, drill and notes.
    """
    if find_spec("matplotlib") is None:
        raise CommandFailed('A report needs the part "report" of the installation: pip install "pitchbend[report]".')
    from server.report.gather import Gathering  # noqa: PLC0415  # loads what draws, which no other command needs
    from server.report.pages import write_report  # noqa: PLC0415

    place = output or file.with_suffix(".pdf")
    try:
        gathering = Gathering(file)
    except AnswerInvalid as wrong:
        raise CommandFailed(f"The answer in {file} cannot be used: {wrong}.") from wrong
    with QuietBar("Working it out") as bar:
        for _ in watched(gathering.run(), lambda: bar.show_reading(gathering.analysis.report)):
            pass
    lesson = gathering.lesson(units or units_here())
    if not lesson.traces:
        raise CommandFailed(f"There is no swing in {file}, so there is nothing to report.")
    try:
        with whole_file(place, overwrite=force) as part:
            write_report(part, lesson)
    except FileNotWritten as failure:
        raise CommandFailed(not_written_sentence(failure)) from failure
    console = Console(stderr=True)
    for sentence in damage_sentences(gathering.analysis.report):
        console.print(f"[yellow]{sentence}[/]")
    print(place)
