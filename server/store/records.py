"""What is remembered of a practice, as plain values.

Angles in degrees and the unit in the name; a drill's own figures are in the unit that stands beside them. Absent is None.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from server.analysis.reps_file import RepRecord


class RepKind(StrEnum):
    """How a rep was swung: what was reached with the cue, without it, and in a test are never mixed."""

    CUED = "cued"
    """The cue was allowed to sound."""
    SILENT = "silent"
    """One of the reps between, in a block where the cue grows rarer; or after the last block."""
    TEST = "test"
    """The test block at the end of a drill, the same day."""
    PAUSED = "paused"
    """Swung while the player had paused: it counts for nothing."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PracticeRecord:
    """The practice as a whole. `key` is the same for a recording and its copies: see `server.store.ledger`."""

    key: str
    provenance: str
    """Where the data is from, when not from sensors that somebody wore; else empty."""
    player: str
    lead_side: str
    begun_unix_s: float
    utc_offset_s: int
    offset_assumed: bool
    """The recording does not say it: that of the computer that filled it in was taken, and `day` may be one off."""
    day: str
    """Calendar date where it was swung, ISO 8601."""
    duration_s: float
    n_packets: int
    program_version: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SensorRecord:
    """A sensor that was worn in it."""

    address: str
    role: str
    name: str
    profile: str
    firmware: str


@dataclass(frozen=True, slots=True, kw_only=True)
class BlockRecord:
    """One block of a stint, and what became of it."""

    n_reps: int
    cue: str
    n_swung: int
    n_cued: int
    n_judged: int
    n_in_band: int


@dataclass(frozen=True, slots=True, kw_only=True)
class StintRecord:
    """A drill as it was gone through from one choice of it to the next. `number` counts from 0 in its practice."""

    number: int
    begun_unix_s: float
    drill: str
    quantity: str
    unit: str
    """Of `low`, `high`, and the reps' `worst`: deg, s or ratio."""
    low: float
    high: float
    text: str
    """The drill whole, as it was written; empty for the one of a practice in which none was chosen."""
    blocks: tuple[BlockRecord, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class RepStored:
    """One rep with its verdict; `values` holds times, quantities at the marks and their uncertainty."""

    stint: int
    block: int | None
    """Which of the stint's blocks it counted for, from 0; None for none."""
    kind: RepKind
    club: str
    club_length_m: float | None
    verdict: str
    worst: float | None
    """The drill's quantity at its worst moment: furthest outside the band, or nearest to an edge inside."""
    out_s: float
    values: RepRecord


@dataclass(frozen=True, slots=True, kw_only=True)
class NoteRecord:
    """What somebody wrote about a practice or a rep, or how they marked one. `number` counts from 0 in its practice."""

    number: int
    at_unix_s: float
    author: str
    kind: str
    """`note` or `mark`."""
    text: str
    rep: int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class RecordingRecord:
    """A file that holds a practice, or part of one."""

    path: str
    sha256: str
    size_bytes: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Remembered:
    """A practice whole, but for the files that hold it."""

    practice: PracticeRecord
    sensors: tuple[SensorRecord, ...]
    stints: tuple[StintRecord, ...]
    reps: tuple[RepStored, ...]
    notes: tuple[NoteRecord, ...]
