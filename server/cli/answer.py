"""`pitchbend answer`: a recording with what a coach says to it, as one file for the student."""

from __future__ import annotations

import re
import time
from pathlib import Path
from typing import Annotated, Final

import typer
from pydantic import ValidationError
from rich.console import Console

from fusion.drills.write import text_of
from server.answer.build import build_answer
from server.answer.form import Answer, AnswerInvalid, PinnedNote
from server.cli.answer_words import answer_sentences, wrong_sentence
from server.cli.drills import chosen_drill
from server.cli.failures import CommandFailed
from server.cli.options import Force, Recording
from server.cli.progress import QuietBar
from server.cli.tables import damage_sentences
from server.file_advice import not_written_sentence
from server.whole_file import FileNotWritten

_NOTE: Final = re.compile(r"(?P<rep>\d{1,6})(?:@(?P<at>-?\d{1,3}(?:\.\d{1,6})?))?:(?P<text>.+)", re.DOTALL)


def answer(
    file: Recording,
    *,
    author: Annotated[str, typer.Option("--by", metavar="NAME", help="Who answers.")],
    priority: Annotated[str, typer.Option(metavar="TEXT", help="The one thing to change.")],
    note: Annotated[
        list[str] | None,
        typer.Option(
            metavar="REP[@SECONDS]:TEXT",
            help="A note on a rep, at an instant after its takeaway if you like: **4@0.55:here the wrist cups**. May be given "
            "several times.",
        ),
    ] = None,
    drill: Annotated[
        str | None,
        typer.Option(metavar="NAME", help="The drill to practise: a name of **pitchbend drills**, or a file."),
    ] = None,
    output: Annotated[
        Path | None, typer.Option("--output", "-o", metavar="FILE", help="The file to make; by default beside FILE.")
    ] = None,
    qr: Annotated[bool, typer.Option("--qr", help="Also draw the drill here, for a phone's camera.")] = False,
    force: Force = False,
) -> None:
    """Answer a practice: one file with the recording, its numbers, your notes, one priority and a drill.

    The student opens it with **pitchbend review FILE**, or drops it on the review page. It is a recording like any
    other: everything that reads recordings reads it. What is in it stands in **docs/answer.md**.
    """
    place = output or file.with_name(f"{file.stem}-answer.mcap")
    prescribed = chosen_drill(drill)
    said = _answer(
        author, priority, [_note(text) for text in note or ()], "" if prescribed is None else prescribed.text
    )
    try:
        with QuietBar("Making the answer") as bar:
            built = build_answer(file, place, said, overwrite=force, on_progress=bar.show)
    except AnswerInvalid as wrong:
        raise CommandFailed(f"{str(wrong)[:1].upper()}{str(wrong)[1:]}. {file} was only read.") from wrong
    except FileNotWritten as failure:
        raise CommandFailed(not_written_sentence(failure)) from failure
    console = Console(stderr=True)
    for sentence in damage_sentences(built.report):
        console.print(f"[yellow]{sentence}[/]")
    for sentence in answer_sentences(built.answer):
        console.print(sentence, soft_wrap=True, highlight=False, markup=False)
    if not built.has_series:
        console.print("The instants of so many swings do not fit in; whoever opens the file works them out anew.")
    if qr and prescribed is not None:
        from server.joining.qr import qr_blocks  # noqa: PLC0415  # nothing else here draws

        console.print(qr_blocks(text_of(prescribed.drill)), highlight=False, markup=False)
    print(place)


def _answer(author: str, priority: str, notes: list[PinnedNote], drill_text: str) -> Answer:
    try:
        return Answer(author=author, written_unix_s=time.time(), priority=priority, notes=notes, drill_text=drill_text)
    except ValidationError as error:
        raise CommandFailed(wrong_sentence(error)) from error


def _note(text: str) -> PinnedNote:
    match = _NOTE.fullmatch(text)
    if match is None:
        raise CommandFailed(
            f"A note is written REP:TEXT or REP@SECONDS:TEXT, as in 4@0.55:here the wrist cups; not {text!r}."
        )
    at = match["at"]
    try:
        return PinnedNote(rep=int(match["rep"]), after_takeaway_s=None if at is None else float(at), text=match["text"])
    except ValidationError as error:
        raise CommandFailed(wrong_sentence(error)) from error
