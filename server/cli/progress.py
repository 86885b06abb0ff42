"""A progress bar on stderr that keeps quiet while a command is quick."""

from __future__ import annotations

import time
from types import TracebackType
from typing import Final, Self

from rich.console import Console
from rich.progress import BarColumn, Progress, TextColumn, TimeRemainingColumn

from sensors.record.report import ReadReport

QUIET_S: Final = 1.0
"""It appears only when the work takes longer than this."""


class QuietBar:
    """Context manager: `show` how far the work has come, in any unit, as often as it pleases."""

    def __init__(self, what: str, *, console: Console | None = None, quiet_s: float = QUIET_S) -> None:
        self._progress = Progress(
            TextColumn("{task.description}"),
            BarColumn(),
            TimeRemainingColumn(),
            console=console or Console(stderr=True),
            transient=True,
        )
        self._task = self._progress.add_task(what, total=None)
        self._quiet_s = quiet_s

    def __enter__(self) -> Self:
        self._show_at_s = time.monotonic() + self._quiet_s
        self._shown = False
        return self

    def __exit__(
        self, exc_type: type[BaseException] | None, exc: BaseException | None, tb: TracebackType | None
    ) -> None:
        if self._shown:
            self._progress.stop()

    def show_reading(self, report: ReadReport) -> None:
        """Tell how far a recording is read."""
        self.show(report.read_bytes, report.size_bytes)

    def show(self, done: float, total: float) -> None:
        """Tell how much of the whole is done."""
        if not self._shown and time.monotonic() > self._show_at_s:
            self._progress.start()
            self._shown = True
        self._progress.update(self._task, total=total, completed=done)
