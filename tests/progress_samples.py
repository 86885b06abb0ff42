"""Reps of an invented player for tests of progress: a drill, and days of it."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta, timezone

from server.drills import our_drills
from server.progress.points import DrillKey, RepPoint
from server.store.records import RepKind

DRILL = DrillKey(
    name="Quiet wrist going back", quantity="bend_change", unit="deg", low=-8.0, high=25.0, from_mark="takeaway",
    to_mark="top",
)  # fmt: skip
TEXT = our_drills()[0].text
COURSE = ((10, RepKind.CUED), (10, RepKind.SILENT), (10, RepKind.TEST))
HOUR_S = 3600.0


def at(text: str, zone_h: float = 0.0) -> datetime:
    return datetime.fromisoformat(text).replace(tzinfo=timezone(timedelta(hours=zone_h)) if zone_h else UTC)


def practice(begun: datetime, *blocks, n_in=None, minutes=30.0, drill=DRILL, asked=None) -> list[RepPoint]:
    """One practice. Of each block the first `n_in` reps are in the band; a block asks for its reps, or for `asked`."""
    out: list[RepPoint] = []
    for block, (n_reps, kind) in enumerate(blocks):
        for i in range(n_reps):
            good = n_in is None or i < n_in
            out.append(
                RepPoint(
                    practice=begun.isoformat(),
                    day=begun.date().isoformat(),
                    begun_unix_s=begun.timestamp(),
                    ended_unix_s=begun.timestamp() + 60 * minutes,
                    number=len(out) + 1,
                    drill=drill,
                    stint=0,
                    block=block,
                    block_reps=asked or n_reps,
                    kind=kind,
                    verdict="in_band" if good else "below",
                    worst=float(i) if good else -20.0 + i,
                )
            )
    return out
