"""A store with days of an invented player in it, written as `server.store.write` writes what a recording gave."""

from __future__ import annotations

import hashlib
from datetime import datetime
from pathlib import Path

from fusion.drills.parse import drill_from
from server.analysis.reps_file import RepRecord, Values
from server.store.database import Database
from server.store.records import BlockRecord, PracticeRecord, Remembered, RepKind, RepStored, StintRecord
from server.store.write import write

_CUES = {RepKind.CUED: "every", RepKind.SILENT: "quarter", RepKind.TEST: "none", RepKind.PAUSED: "none"}
_NO_MARKS = Values(shaft_level=None, lead_arm_level=None, top=None, impact=None)


def keep(place: Path, player: str, begun: datetime, text: str, *blocks: tuple[int, int, RepKind]) -> None:
    """One practice: blocks of so many reps, so many of them in the band. `begun` has its zone."""
    database = Database(place)
    with database.writing() as connection:
        write(connection, _remembered(player, begun, text, blocks))
    database.close()


def _remembered(player, begun, text, blocks) -> Remembered:
    drill = drill_from(text)
    unit = drill.quantity.unit
    low, high = round(unit.shown(drill.low), 6), round(unit.shown(drill.high), 6)
    reps = []
    for block, (n_reps, n_in_band, kind) in enumerate(blocks):
        for i in range(n_reps):
            good = i < n_in_band
            worst = low + (high - low) * (i + 1) / (n_reps + 1) if good else low - 2.0 - i
            reps.append(_rep(len(reps) + 1, block, kind, "in_band" if good else "below", worst))
    stint = StintRecord(
        number=0, begun_unix_s=begun.timestamp(), drill=drill.name, quantity=drill.quantity.value, unit=unit.value,
        low=low, high=high, text=text,
        blocks=tuple(
            BlockRecord(
                n_reps=n, cue=_CUES[kind], n_swung=n, n_cued=n if kind is RepKind.CUED else 0, n_judged=n, n_in_band=good
            )
            for n, good, kind in blocks
        ),
    )  # fmt: skip
    offset = begun.utcoffset()
    assert offset is not None
    practice = PracticeRecord(
        key=hashlib.sha256(f"{player} {begun}".encode()).hexdigest(), provenance="", player=player, lead_side="left",
        begun_unix_s=begun.timestamp(), utc_offset_s=int(offset.total_seconds()), offset_assumed=False,
        day=begun.date().isoformat(), duration_s=1800.0, n_packets=1000, program_version="test",
    )  # fmt: skip
    return Remembered(practice=practice, sensors=(), stints=(stint,), reps=tuple(reps), notes=())


def _rep(number, block, kind, verdict, worst) -> RepStored:
    values = RepRecord.model_construct(
        index=number, takeaway_s=10.0 * number, finish_s=None, backswing_s=0.8, downswing_s=None, tempo=None,
        swing_length_arm_deg=None, swing_length_shaft_deg=None, quality="ok", flags=[], shaft_level_s=None,
        lead_arm_level_s=None, top_s=None, impact_s=None, values=_NO_MARKS,
    )  # fmt: skip
    return RepStored(
        stint=0, block=block, kind=kind, club="", club_length_m=None, verdict=verdict, worst=worst, out_s=0.0, values=values
    )  # fmt: skip
