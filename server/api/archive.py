"""The store as the service sees it: opened when somebody first asks, and long work done beside it.

Light: every command that serves makes one. The database's library is loaded only by `database`, which waits: it is for threads.
"""

from __future__ import annotations

import shutil
import tempfile
import threading
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from server.api.wish import StoreWish

if TYPE_CHECKING:
    from server.api.jobs import Job, Jobs
    from server.store.database import Database
    from server.store.shelf import Shelf


class Archive:
    """One store, its swings, and what is being worked out for it. Everything here may be called from any thread."""

    def __init__(self, wish: StoreWish) -> None:
        self.wish = wish
        self._lock = threading.Lock()
        self._database: Database | None = None
        self._temporary: Path | None = None
        self._jobs: Jobs | None = None
        self._swings: dict[str, Job] = {}

    def database(self) -> Database:
        """Open it; a store that shows recordings is filled with them first, once. Raises `StoreError`."""
        from server.store.database import Database  # noqa: PLC0415  # see the top

        with self._lock:
            if self._database is None:
                place = self.wish.place
                if self.wish.shown:
                    self._temporary = Path(tempfile.mkdtemp(prefix="pitchbend-"))
                    place = str(self._temporary / "practices.sqlite")
                    self._fill(place)
                database = Database(place)
                database.open()
                self._database = database
            return self._database

    def shelf(self) -> Shelf:
        """Where the swings lie. Raises `StoreError`."""
        from server.store.shelf import Shelf  # noqa: PLC0415  # see the top

        return Shelf.of(self.database())

    def swings_job(self, key: str, find_recording: Callable[[], Path]) -> Job:
        """Have the swings of a practice worked out, unless that is being done: the work, to be asked how far it is."""
        from server.api.tasks import work_out_swings  # noqa: PLC0415  # see the top

        with self._lock:
            job = self._swings.get(key)
        if job is not None:
            return job
        folder, recording = self.shelf().folder, find_recording()
        with self._lock:
            if key not in self._swings:  # nobody else has come before
                self._swings[key] = self._at_work().begin(work_out_swings, folder, key, recording)
            return self._swings[key]

    def swings_told(self, key: str) -> None:
        """Somebody has been told what became of a practice's work: the next who asks begins anew."""
        with self._lock:
            self._swings.pop(key, None)

    def close(self) -> None:
        """Let go of it; a temporary store is gone."""
        if self._jobs is not None:
            self._jobs.close()
        with self._lock:
            if self._database is not None:
                self._database.close()
                self._database = None
            if self._temporary is not None:
                shutil.rmtree(self._temporary, ignore_errors=True)
                self._temporary = None

    def _fill(self, place: str) -> None:
        from server.api.tasks import fill_store  # noqa: PLC0415  # see the top

        self._at_work().begin(fill_store, place, list(self.wish.shown)).over.wait()

    def _at_work(self) -> Jobs:
        from server.api.jobs import Jobs  # noqa: PLC0415  # see the top

        if self._jobs is None:
            self._jobs = Jobs()
        return self._jobs
