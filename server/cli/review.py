"""`pitchbend review`: recorded practices on the page, without a live one."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from server.api.wish import StoreWish
from server.cli import serving
from server.cli.options import DEFAULT_PORT, NoBrowser, Port, StorePlace
from server.cli.ports import check_port


def review(
    files: Annotated[
        list[Path] | None,
        typer.Argument(
            metavar="[FILE_OR_FOLDER]...", help="Recordings, or folders of them, to take into the store first."
        ),
    ] = None,
    *,
    store: StorePlace = None,
    port: Port = DEFAULT_PORT,
    no_browser: NoBrowser = False,
) -> None:
    """Look at recorded practices, rep by rep.

    Takes the recordings that are named into the store (docs/store.md), each once, and opens the page over all that is in it.
    Stop with Ctrl-C.
    """
    from server.cli.store_work import fill_paths, recordings_named, told_of_older  # noqa: PLC0415  # loads the database's library

    check_port(port)
    if files:
        fill_paths(recordings_named(files), store)
    else:
        told_of_older(store)
    serving.serve([], port=port, open_browser=not no_browser, store=StoreWish(place=store), view="#review")
