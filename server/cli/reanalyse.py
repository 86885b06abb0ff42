"""`pitchbend reanalyse`: a whole archive worked out anew."""

from __future__ import annotations

import json
import os
from collections import Counter
from dataclasses import asdict
from pathlib import Path
from typing import Annotated

import typer
from rich.console import Console

from server.cli.failures import CommandFailed
from server.cli.progress import QuietBar
from server.entry import INTERRUPTED
from server.reanalysis.one_file import Outcome, Worked
from server.reanalysis.under_way import note_name, notes_in, sweep
from server.whole_file import replace_text

SUMMARY = "summary.json"


def reanalyse(
    places: Annotated[
        list[Path], typer.Argument(metavar="FILES_OR_FOLDERS", help="Recordings (.mcap), and folders of them.")
    ],
    *,
    out: Annotated[
        Path, typer.Option("--out", "-o", metavar="FOLDER", file_okay=False, help="Where it goes; made if need be.")
    ],
    workers: Annotated[
        int | None, typer.Option(min=1, max=256, metavar="NUMBER", help="So many at once; by default one a core.")
    ] = None,
    dask: Annotated[
        str | None, typer.Option(metavar="ADDRESS", help="Use the Dask scheduler at this address instead.")
    ] = None,
) -> None:
    """Work out many recordings, as **pitchbend analyse** does one: every instant to Parquet, every rep to JSON.

    Each goes into a folder of its own, and **summary.json** tells what became of all. What has been worked out by this version is
    passed over, so it can be stopped with Ctrl-C and started again. A file that cannot be read does not stop the others.
    """
    from server.cli.store_work import recordings_named  # noqa: PLC0415  # with the database's library: not for --help
    from server.reanalysis.workers import NoCluster, work_here, work_on_cluster  # noqa: PLC0415  # process pools, too

    paths = sorted(set(recordings_named(places)))
    if not paths:
        raise CommandFailed("There are no recordings (.mcap) in what was named.")
    try:
        out.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise CommandFailed(f"The folder {out} cannot be made: {error.strerror or error}.") from error
    done: list[Worked] = []
    console = Console()
    out = out.resolve()
    n_workers = min(workers or os.cpu_count() or 1, len(paths))
    paths = [path.resolve() for path in paths]
    try:
        with _Bar(paths, out) as bar:
            going = (
                work_on_cluster(paths, out, dask, bar.look)
                if dask is not None
                else work_here(paths, out, n_workers, bar.look)
            )
            try:
                for worked in going:
                    done.append(worked)
                    bar.finish(worked)
            finally:
                going.close()
    except NoCluster as failure:
        raise CommandFailed(str(failure)) from failure
    except KeyboardInterrupt:
        console.print(f"Stopped with {len(done)} of {len(paths)} done. The same command goes on from there.")
        raise typer.Exit(INTERRUPTED) from None
    finally:
        sweep(out)
        _summarise(done, out)
    _tell(done, console, out)


class _Bar(QuietBar):
    """Bytes of recordings that are done with, and of those under way as far as they are read."""

    def __init__(self, paths: list[Path], out: Path) -> None:
        super().__init__(f"Working out {len(paths)} recordings")
        self._sizes = {str(path): path.stat().st_size if path.is_file() else 0 for path in paths}
        self._total = max(1, sum(self._sizes.values()))
        self._out = out
        self._waiting = {note_name(path) for path in paths}
        self._done_bytes = 0

    def finish(self, worked: Worked) -> None:
        """One file is done with."""
        self._done_bytes += self._sizes.get(worked.path, 0)
        self._waiting.discard(note_name(Path(worked.path)))
        self.look()

    def look(self) -> None:
        """Show how far all of it is."""
        under_way = sum(n for name, n in notes_in(self._out).items() if name in self._waiting)
        self.show(self._done_bytes + under_way, self._total)


def _summarise(done: list[Worked], out: Path) -> None:
    text = json.dumps({"files": [asdict(one) for one in sorted(done, key=lambda one: one.path)]}, indent=1)
    try:
        replace_text(out / SUMMARY, text + "\n")
    except OSError as error:
        raise CommandFailed(f"{out / SUMMARY} cannot be written: {error.strerror or error}.") from error


def _tell(done: list[Worked], console: Console, out: Path) -> None:
    counts = Counter(one.outcome for one in done)
    for one in sorted(done, key=lambda one: one.path):
        if one.outcome is Outcome.FAILED:
            console.print(f"[yellow]{one.path}: {one.problem}.[/]", soft_wrap=True, highlight=False)
        elif not one.is_clean:
            console.print(
                f"[yellow]{one.path}: parts of it are damaged and left out.[/]", soft_wrap=True, highlight=False
            )
    console.print(
        f"{counts[Outcome.WORKED_OUT]} worked out, {counts[Outcome.KNOWN]} known already, {counts[Outcome.FAILED]} failed. "
        f"All of it is in {out / SUMMARY}.",
        soft_wrap=True, highlight=False,
    )  # fmt: skip
    if counts[Outcome.FAILED]:
        raise typer.Exit(1)
