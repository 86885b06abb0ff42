"""How the fit moves of a practice went: the last word on each, and how often it was taken."""

from __future__ import annotations

from dataclasses import dataclass, field

from fusion.outputs.fit import FitProgress, FitReport, FitState
from sensors.ids import Move


@dataclass(slots=True)
class MoveRecord:
    """One kind of move."""

    n_taken: int = 0
    rejected: list[FitProgress] = field(default_factory=list)


@dataclass(slots=True)
class MovesLog:
    """Push every news of a fit move."""

    by_move: dict[Move, MoveRecord] = field(default_factory=dict)
    complete: bool = False
    report: FitReport | None = None
    """Of the last fit."""

    def push(self, progress: FitProgress) -> None:
        """Count one in."""
        record = self.by_move.setdefault(progress.move, MoveRecord())
        if progress.state is FitState.TAKEN:
            record.n_taken += 1
        elif progress.state is FitState.REJECTED:
            record.rejected.append(progress)
        self.complete = self.complete or progress.complete
        self.report = progress.report or self.report

    @property
    def taken(self) -> list[Move]:
        """Moves that were taken at least once."""
        return [move for move, record in self.by_move.items() if record.n_taken]
