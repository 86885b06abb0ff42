"""`pitchbend recordings`: what has been recorded, and where it lies."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import Annotated

import typer
from rich.box import SIMPLE
from rich.console import Console
from rich.table import Table

from sensors.record.listing import Listed, listed, recordings_in
from sensors.record.paths import default_folder, earlier_folder
from server.cli.failures import CommandFailed
from server.cli.tables import minutes


def recordings(
    *,
    folder: Annotated[
        Path | None, typer.Option(metavar="FOLDER", file_okay=False, help="Where to look, if not in your documents.")
    ] = None,
    number: Annotated[
        int, typer.Option("--number", "-n", min=1, metavar="NUMBER", help="How many to list at most.")
    ] = 20,
) -> None:
    """List what has been recorded, newest first, and where it lies.

    Watch one with **pitchbend replay FILE**, see what is in it with **pitchbend inspect FILE**.
    """
    folders = [folder] if folder is not None else [default_folder(), earlier_folder()]
    found = False
    for place in folders:
        try:
            paths = recordings_in(place)
        except OSError as error:
            raise CommandFailed(f"{place} cannot be read: {error.strerror or error}.") from None
        if paths:
            found = True
            show(place, [one for path in paths[:number] if (one := _look(path))], len(paths), Console())
    if not found:
        raise CommandFailed(f"Nothing has been recorded in {folders[0]} yet. `pitchbend live` records every practice.")


def _look(path: Path) -> Listed | None:
    try:
        return listed(path)
    except OSError:  # gone since the folder was read
        return None


def show(folder: Path, files: list[Listed], n_all: int, console: Console) -> None:
    """Print the folder and its recordings."""
    console.print(f"In {folder}", soft_wrap=True, highlight=False)
    table = Table(box=SIMPLE, pad_edge=False)
    for name in ("made", "player", "length", "MB", "file"):
        table.add_column(name, justify="right" if name in {"length", "MB"} else "left", overflow="fold")
    for one in files:
        length = "-" if one.duration_s is None else minutes(one.duration_s)
        table.add_row(_made(one), one.player, length, f"{one.size_bytes / 1e6:.1f}", _file_words(folder, one))
    console.print(table)
    if n_all > len(files):
        console.print(f"and {n_all - len(files)} older; --number {n_all} lists all.")


def _made(one: Listed) -> str:
    try:
        at = datetime.fromisoformat(one.created)
    except ValueError:
        at = datetime.fromtimestamp(one.changed_s).astimezone()
    return at.astimezone().strftime("%Y-%m-%d %H:%M")


def _file_words(folder: Path, one: Listed) -> str:
    words = str(one.path.relative_to(folder))
    if one.problem:
        return f"{words} ({one.problem})"
    if one.continues:
        words += f" (goes on from {one.continues})"
    return words if one.is_finished else f"{words} (being recorded, or cut off: pitchbend recover)"
