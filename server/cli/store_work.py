"""What `pitchbend store` does: see `server.cli.store`."""

from __future__ import annotations

import contextlib
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import typer
from rich.box import SIMPLE
from rich.console import Console
from rich.table import Table
from sqlalchemy import Connection

from sensors.record.listing import recordings_in
from sensors.record.paths import default_folder, received_folder
from sensors.record.report import ReadReport
from server.cli.failures import CommandFailed, tell
from server.cli.progress import QuietBar
from server.cli.tables import damage_sentences
from server.file_advice import cause_of, not_written_sentence
from server.store import people
from server.store.archive import write_archive
from server.store.archive_read import ExportInvalid
from server.store.database import Database
from server.store.errors import StoreError
from server.store.fill import Filled, Outcome, fill
from server.store.forgetting import forget_player as forget_player_there
from server.store.renew import Renewed, n_older, renew
from server.store.restore import restore
from server.store.shelf import Shelf
from server.store_advice import store_sentence
from server.whole_file import FileNotWritten, whole_file


@contextmanager
def opened(place: str | None) -> Iterator[Database]:
    """Open the store; what is the matter with it becomes a sentence."""
    try:
        database = Database(place)
        try:
            database.open()
            yield database
        finally:
            database.close()
    except StoreError as error:
        raise CommandFailed(store_sentence(error)) from error


def fill_from(folder: Path | None, store: str | None) -> None:
    """Take in what is not there yet, with a bar, and say what came of it. Raises `CommandFailed`."""
    place = folder or default_folder()
    if not place.is_dir():
        raise CommandFailed(f"{place} is no folder: name the one that holds the recordings.")
    fill_paths(_recordings_in(place), store)


def recordings_named(places: list[Path]) -> list[Path]:
    """Give the files that are named, and those in folders that are. Raises `CommandFailed`."""
    for place in places:
        if not place.exists():
            raise CommandFailed(f"{place} is not there: name a recording (.mcap), or a folder of them.")
    return [path for place in places for path in (_recordings_in(place) if place.is_dir() else [place])]


def fill_paths(paths: list[Path], store: str | None) -> None:
    """Take in those of these files that are not there yet. Raises `CommandFailed`."""
    counts: Counter[Outcome] = Counter()
    with opened(store) as database, QuietBar("Working them out") as bar:

        def show(n_done: int, reading: ReadReport) -> None:
            bar.show(n_done + reading.share_read, len(paths))

        for filled in fill(database, paths, report=show, shelf=Shelf.of(database)):
            counts[filled.outcome] += 1
            _tell(filled)
        place_words = database.name
        with database.reading() as connection:
            tell_older(connection)
    known = counts[Outcome.KNOWN] + counts[Outcome.MATCHED] + counts[Outcome.PART]
    typer.echo(
        f"{counts[Outcome.STORED]} new, {known} known already, {counts[Outcome.NO_REPS]} without a swing, "
        f"{counts[Outcome.UNREADABLE]} that cannot be read. The store is {place_words}."
    )


def tell_older(connection: Connection) -> None:
    """Say how many practices an older version worked out, if any, and what to do. Raises `StoreError`."""
    n = n_older(connection)
    if n:
        are = "1 practice was" if n == 1 else f"{n} practices were"
        tell(f"{are} worked out by another version. `pitchbend store renew` works them out anew; notes and marks stay.")


def told_of_older(store: str | None) -> None:
    """Say it of a store that is opened for this alone; what is the matter with one says whoever uses it."""
    with contextlib.suppress(CommandFailed), opened(store) as database, database.reading() as connection:
        tell_older(connection)


def renew_all(store: str | None) -> None:
    """Work out anew what is older, with a bar, and say what came of it. Raises `CommandFailed`."""
    done: list[Renewed] = []
    with opened(store) as database, QuietBar("Working them out anew") as bar:
        with database.reading() as connection:
            n = n_older(connection)

        def show(n_done: int, reading: ReadReport) -> None:
            bar.show(n_done + reading.share_read, n)

        done.extend(renew(database, report=show))
    left = [one for one in done if one.problem]
    for one in left:
        tell(f"The practice of {one.day} stays as it is: {one.problem}.")
    typer.echo(f"{len(done) - len(left)} worked out anew, {len(left)} left as they are.")


def _recordings_in(place: Path) -> list[Path]:
    try:
        return recordings_in(place)
    except OSError as error:
        raise CommandFailed(f"{place} cannot be read: {error.strerror or error}.") from None


def _tell(filled: Filled) -> None:
    if filled.outcome is Outcome.UNREADABLE:
        tell(f"{filled.path} is left out: {filled.problem}.")
    for sentence in damage_sentences(filled.report) if filled.report else ():
        tell(f"{filled.path}: {sentence}")


def list_players(store: str | None) -> None:
    """Print the table. Raises `CommandFailed`."""
    with opened(store) as database, database.reading() as connection:
        found = people.players(connection)
        tell_older(connection)
    if not found:
        typer.echo("The store is empty. `pitchbend store fill` puts the recordings of this computer into it.")
        return
    table = Table(box=SIMPLE, pad_edge=False)
    for name in ("player", "practices", "reps", "in band, cued", "in band, silent"):
        table.add_column(name, justify="left" if name == "player" else "right", overflow="fold")
    for one in found:
        table.add_row(
            one.name or "(no name)", str(one.n_practices), str(one.n_reps), _share(one.cued), _share(one.silent)
        )
    Console().print(table)


def _share(share: people.Share) -> str:
    return f"{share.n_in_band} of {share.n_judged}" if share.n_judged else "-"


def export_player(name: str, output: Path, store: str | None, *, force: bool) -> None:
    """Write the file, and say what is in it. Raises `CommandFailed`."""
    with opened(store) as database, database.reading() as connection:
        player_id = player_id_or_fail(people.player_id_of(connection, name), name)
        about, recordings = people.whole(connection, player_id), people.recordings_of(connection, player_id)
    try:
        with whole_file(output, overwrite=force) as part:
            missing = write_archive(part, about, recordings)
    except FileNotWritten as failure:
        raise CommandFailed(not_written_sentence(failure)) from failure
    for path in missing:
        tell(f"{path} is not where it was, or has changed; it is not in the file.")
    typer.echo(f"{output}: {len(about['practices'])} practices, {len(recordings) - len(missing)} recordings.")


def import_player(export: Path, folder: Path | None, store: str | None) -> None:
    """Take it in, and say what came of it. Raises `CommandFailed`."""
    place = folder or received_folder()
    with opened(store) as database:
        try:
            came = restore(database, export, place)
        except ExportInvalid as error:
            raise CommandFailed(f"{export} was not taken in, and nothing was changed: {error}.") from error
        except OSError as error:
            raise CommandFailed(f"{export} was not taken in, and nothing was changed: {cause_of(error)}.") from error
        place_words = database.name
    for path in came.missing:
        tell(f"{path} is not in the export, and not on this computer; its practice was taken in without it.")
    typer.echo(
        f"{came.player or '(no name)'}: {came.n_new} new practices, {came.n_practices - came.n_new} known already, "
        f"{came.n_notes} new notes, {came.n_answers} new answers, {came.n_recordings} recordings. The store is {place_words}."
    )


def forget_player(name: str, store: str | None, *, recordings: bool, yes: bool) -> None:
    """Delete after asking, and say what is left. Raises `CommandFailed`."""
    with opened(store) as database:
        with database.reading() as connection:
            player_id = player_id_or_fail(people.player_id_of(connection, name), name)
            files = people.recordings_of(connection, player_id)
        also = f" and {len(files)} recordings" if recordings else ""
        if not yes and not typer.confirm(f"Delete {name or '(no name)'}{also} for good?"):
            typer.echo("Nothing was deleted.")
            return
        _, _, left = forget_player_there(database, Shelf.of(database), player_id, recordings=recordings)
    typer.echo(f"{name or '(no name)'} is no longer in the store.")
    if left:
        typer.echo("These recordings are left; `pitchbend store fill` would take them in again:")
        for path in left:
            typer.echo(f"  {path}")


def player_id_or_fail(found: int | None, name: str) -> int:
    """Go on with a player that there is. Raises `CommandFailed`."""
    if found is None:
        raise CommandFailed(f"There is no player called {name} in the store; `pitchbend store list` has the names.")
    return found
