"""The store as the service sees it: opened when somebody first asks, and long work done beside it.

Light: every command that serves makes one. The database's library is loaded only by `database`, which waits: it is for threads.
"""

from __future__ import annotations

import shutil
import tempfile
import threading
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Final

from server.api.wish import StoreWish

if TYPE_CHECKING:
    from server.answer.form import Answer
    from server.api.jobs import Job, Jobs
    from server.store.database import Database
    from server.store.shelf import Shelf


MOST_WAITING: Final = 20
MOST_TOLD: Final = 100
MOST_SENT: Final = 1000


class Archive:
    """One store, its swings, and what is being worked out for it. Everything here may be called from any thread."""

    def __init__(self, wish: StoreWish) -> None:
        self.wish = wish
        self._place = wish.place
        self._lock = threading.Lock()
        self._database: Database | None = None
        self._temporary: Path | None = None
        self._jobs: Jobs | None = None
        self._swings: dict[str, Job] = {}
        self._incoming: dict[str, Job] = {}
        self._senders: dict[tuple[str, str], None] = {}

    def database(self) -> Database:
        """Open it; a store that shows recordings is filled with them first, once. Raises `StoreError`."""
        from server.store.database import Database  # noqa: PLC0415  # see the top

        with self._lock:
            if self._database is None:
                if self.wish.shown:
                    self._temporary = Path(tempfile.mkdtemp(prefix="pitchbend-"))
                    self._place = str(self._temporary / "practices.sqlite")
                    self._fill(self._place)
                database = Database(self._place)
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

    def take_in(self, sha256: str, path: Path) -> bool:
        """Have a recording taken in that came from elsewhere; False when too many wait already."""
        from server.api.tasks import take_in_recording  # noqa: PLC0415  # see the top

        self.database()
        with self._lock:
            if sum(not job.over.is_set() for job in self._incoming.values()) >= MOST_WAITING:
                return False
            for old in list(self._incoming)[:-MOST_TOLD]:
                if self._incoming[old].over.is_set():
                    del self._incoming[old]
            self._incoming[sha256] = self._at_work().begin(take_in_recording, self._place, path, sha256)
            return True

    def answer_job(self, recording: Path, place: Path, answer: Answer) -> Job:
        """Have the file of an answer made at `place`; what comes of it is the answer as it stands in the file."""
        from server.api.tasks import make_answer  # noqa: PLC0415  # see the top

        with self._lock:
            return self._at_work().begin(make_answer, recording, place, answer)

    def incoming(self, sha256: str) -> Job | None:
        """Find what is being, or was lately, taken in."""
        with self._lock:
            return self._incoming.get(sha256)

    def note_sender(self, sha256: str, guest_id: str) -> None:
        """Remember, as long as the service runs, who sent a recording: whoever has the file may see what is in it."""
        with self._lock:
            self._senders[guest_id, sha256] = None
            for old in list(self._senders)[:-MOST_SENT]:
                del self._senders[old]

    def sent_by(self, guest_id: str) -> frozenset[str]:
        """Tell which recordings came from a guest; none for one who cannot be told from others."""
        with self._lock:
            return frozenset(sha256 for who, sha256 in self._senders if guest_id and who == guest_id)

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
