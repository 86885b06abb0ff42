"""`pitchbend store`: practices remembered across days, filled from their recordings; one player's taken out, or forgotten.

The work stands in `store_work` and is loaded only when one of them runs: the library of the database takes a quarter of a second,
and every other command would wait for it.
"""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from server.cli.options import Force, StorePlace

app = typer.Typer(
    name="store",
    no_args_is_help=True,
    rich_markup_mode="markdown",
    help="Practices remembered across days, in a database on this computer (docs/store.md).",
)
Name = Annotated[str, typer.Argument(metavar="NAME", help="The player, as **pitchbend store list** has the name.")]


@app.command("fill")
def fill_command(
    folder: Annotated[
        Path | None, typer.Argument(metavar="FOLDER", help="Where the recordings are, if not in your documents.")
    ] = None,
    *,
    store: StorePlace = None,
) -> None:
    """Work out the recordings that are not in the store yet, and put them there. Run it as often as you like."""
    from server.cli.store_work import fill_from  # noqa: PLC0415  # see the top

    fill_from(folder, store)


@app.command("renew")
def renew_command(*, store: StorePlace = None) -> None:
    """Work practices out anew that an older version of the analysis put there. Notes, marks and answers stay."""
    from server.cli.store_work import renew_all  # noqa: PLC0415  # see the top

    renew_all(store)


@app.command("list")
def list_command(*, store: StorePlace = None) -> None:
    """List the players: practices, reps, and the share in the band, with the cue and without it."""
    from server.cli.store_work import list_players  # noqa: PLC0415  # see the top

    list_players(store)


@app.command("export")
def export_command(
    name: Name,
    *,
    output: Annotated[Path, typer.Option("--output", "-o", metavar="FILE.zip", help="The file to write.")],
    force: Force = False,
    store: StorePlace = None,
) -> None:
    """Write everything that is known of one player to a file: JSON, and the recordings."""
    from server.cli.store_work import export_player  # noqa: PLC0415  # see the top

    export_player(name, output, store, force=force)


@app.command("import")
def import_command(
    export: Annotated[Path, typer.Argument(metavar="FILE.zip", help="What **pitchbend store export** wrote.")],
    *,
    folder: Annotated[
        Path | None,
        typer.Option("--folder", metavar="FOLDER", help="Where its recordings go, if not to your documents."),
    ] = None,
    store: StorePlace = None,
) -> None:
    """Take in a player that was exported on another computer. What is here already stays; run it as often as you like."""
    from server.cli.store_work import import_player  # noqa: PLC0415  # see the top

    import_player(export, folder, store)


@app.command("forget")
def forget_command(
    name: Name,
    *,
    recordings: Annotated[bool, typer.Option("--recordings", help="Delete the recordings, too.")] = False,
    yes: Annotated[bool, typer.Option("--yes", help="Do not ask.")] = False,
    store: StorePlace = None,
) -> None:
    """Delete one player from the store. The recordings stay, and are listed, unless **--recordings** is given."""
    from server.cli.store_work import forget_player  # noqa: PLC0415  # see the top

    forget_player(name, store, recordings=recordings, yes=yes)
