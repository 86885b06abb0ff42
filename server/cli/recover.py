"""`pitchbend recover FILE`: a whole recording from a damaged one."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer
from rich.console import Console

from sensors.errors import RecorderError, RecordingError
from sensors.record.recover import Recovery, is_whole, recover
from server.cli.failures import CommandFailed
from server.cli.progress import QuietBar
from server.cli.recover_words import recovery_sentences
from server.file_advice import not_written_sentence
from server.whole_file import FileNotWritten, whole_file


def recover_command(
    files: Annotated[
        list[Path],
        typer.Argument(metavar="FILE...", help="The damaged recording, or the files of one practice in order."),
    ],
    *,
    output: Annotated[
        Path | None,
        typer.Option("--output", "-o", metavar="FILE", help="The recording to make; by default beside FILE."),
    ] = None,
) -> None:
    """Save what can be saved of a damaged recording.

    Makes a new, whole recording from one that was cut off, is damaged or partly overwritten, and says what is in it and
    what is lost, from when to when. The original is never changed. With several files, the parts of a practice whose
    disk failed, it makes one of them.
    """
    out = output or _beside(files[0])
    try:
        if len(files) == 1 and output is None and is_whole(files[0]):
            Console(stderr=True).print(
                f"{files[0]} is whole: there is nothing to recover.", soft_wrap=True, highlight=False
            )
            return
        with QuietBar("Recovering") as bar, whole_file(out, overwrite=False) as place:
            recovery = _recover_to(files, place, bar)
    except FileNotWritten as failure:
        raise CommandFailed(not_written_sentence(failure)) from None
    except RecordingError as error:
        raise CommandFailed(f"{error.path} cannot be recovered: {error.problem}.") from None
    console = Console(stderr=True)
    for sentence in recovery_sentences(recovery):
        console.print(sentence, soft_wrap=True, highlight=False)
    print(out)


def _recover_to(files: list[Path], place: Path, bar: QuietBar) -> Recovery:
    try:
        return recover(files, place, on_progress=bar.show)
    except RecorderError as error:
        raise error.cause from error


def _beside(path: Path) -> Path:
    """Name the new file after the old; a number is added while the name is taken."""
    number, out = 1, path.with_name(f"{path.stem}-recovered.mcap")
    while out.exists():
        number += 1
        out = path.with_name(f"{path.stem}-recovered-{number}.mcap")
    return out
