"""What is worked out in a process of its own: see `server.api.jobs`."""

from __future__ import annotations

from pathlib import Path

from sensors.record.reader import ReadReport
from server.answer.build import build_answer
from server.answer.form import Answer
from server.api.jobs import Report
from server.store.database import Database
from server.store.fill import fill
from server.store.incoming import Taken, take_in
from server.store.shelf import Shelf, work_out
from server.whole_file import FileNotWritten


def fill_store(place: str, paths: list[Path], report: Report) -> None:
    """Take recordings into a store, with every instant of their swings."""
    database = Database(place)

    def show(n_done: int, reading: ReadReport) -> None:
        report((n_done + reading.share_read) / max(len(paths), 1))

    try:
        for _ in fill(database, paths, report=show, shelf=Shelf.of(database)):
            pass
    finally:
        database.close()


def take_in_recording(place: str | None, path: Path, sha256: str, report: Report) -> Taken:
    """Look a recording through that came from elsewhere, and take it in."""
    database = Database(place)
    try:
        return take_in(database, path, sha256, report)
    finally:
        database.close()


def make_answer(recording: Path, place: Path, answer: Answer, report: Report) -> Answer:
    """Make the file of a coach's answer."""
    try:
        built = build_answer(recording, place, answer, on_progress=lambda done, of: report(done / max(of, 1)))
    except FileNotWritten as failure:
        raise failure.cause from failure
    return built.answer


def work_out_swings(folder: Path, key: str, recording: Path, report: Report) -> None:
    """Work out the swings of one practice."""
    work_out(Shelf(folder), key, recording, lambda reading: report(reading.share_read))
