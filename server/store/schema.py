"""The tables, as the newest migration leaves them. `docs/store.md` describes them; a test compares the two with a database.

The unit is in the column's name, but for a drill's own figures (`low`, `high`, `worst`): theirs is the drill's `unit`.
A column that may be absent is null, never 0 or "".
"""

from __future__ import annotations

from typing import Final

from sqlalchemy import (
    JSON,
    BigInteger,
    Boolean,
    Column,
    Double,
    ForeignKey,
    Index,
    Integer,
    MetaData,
    String,
    Table,
    Text,
    UniqueConstraint,
)

from server.analysis.quantities import QUANTITIES

METADATA: Final = MetaData(
    naming_convention={
        "pk": "pk_%(table_name)s",
        "fk": "fk_%(table_name)s_%(column_0_name)s",
        "uq": "uq_%(table_name)s_%(column_0_name)s",
        "ix": "ix_%(table_name)s_%(column_0_name)s",
    }
)


def _id() -> Column[int]:
    return Column("id", Integer, primary_key=True)


def _of(table: str, *, optional: bool = False, cascade: bool = True) -> Column[int]:
    """A reference that goes with what it refers to, or holds it."""
    rule = "CASCADE" if cascade else "RESTRICT"
    return Column(f"{table}_id", ForeignKey(f"{table}.id", ondelete=rule), nullable=optional)


PLAYER: Final = Table("player", METADATA, _id(), Column("name", Text, nullable=False, unique=True))

CLUB: Final = Table(
    "club",
    METADATA,
    _id(),
    _of("player"),
    Column("name", Text, nullable=False),
    Column("length_m", Double),
    UniqueConstraint("player_id", "name"),
)

SENSOR: Final = Table(
    "sensor",
    METADATA,
    _id(),
    Column("address", Text, nullable=False, unique=True),
    Column("name", Text, nullable=False),
    Column("profile", Text, nullable=False),
    Column("firmware", Text, nullable=False),
)

PRACTICE: Final = Table(
    "practice",
    METADATA,
    _id(),
    Column("key", String(64), nullable=False, unique=True),
    _of("player"),
    Column("provenance", Text, nullable=False),
    Column("lead_side", String(10), nullable=False),
    Column("begun_unix_s", Double, nullable=False),
    Column("utc_offset_s", Integer, nullable=False),
    Column("offset_assumed", Boolean, nullable=False),
    Column("day", String(10), nullable=False),
    Column("duration_s", Double, nullable=False),
    Column("n_packets", BigInteger, nullable=False),
    Column("program_version", String(60), nullable=False),
    Index("ix_practice_player_day", "player_id", "day"),
)

WORN: Final = Table(
    "worn",
    METADATA,
    _id(),
    _of("practice"),
    _of("sensor", cascade=False),
    Column("role", String(20), nullable=False),
    UniqueConstraint("practice_id", "sensor_id"),
)

RECORDING: Final = Table(
    "recording",
    METADATA,
    _id(),
    _of("practice"),
    Column("path", Text, nullable=False),
    Column("sha256", String(64), nullable=False, unique=True),
    Column("size_bytes", BigInteger, nullable=False),
    Index("ix_recording_practice_id", "practice_id"),
)

DRILL: Final = Table(
    "drill",
    METADATA,
    _id(),
    Column("sha256", String(64), nullable=False, unique=True),
    Column("name", Text, nullable=False),
    Column("quantity", String(40), nullable=False),
    Column("unit", String(10), nullable=False),
    Column("low", Double, nullable=False),
    Column("high", Double, nullable=False),
    Column("text", Text, nullable=False),
)

STINT: Final = Table(
    "stint",
    METADATA,
    _id(),
    _of("practice"),
    _of("drill", cascade=False),
    Column("number", Integer, nullable=False),
    Column("begun_unix_s", Double, nullable=False),
    UniqueConstraint("practice_id", "number"),
)

BLOCK: Final = Table(
    "block",
    METADATA,
    _id(),
    _of("stint"),
    Column("number", Integer, nullable=False),
    Column("n_reps", Integer, nullable=False),
    Column("cue", String(20), nullable=False),
    Column("n_swung", Integer, nullable=False),
    Column("n_cued", Integer, nullable=False),
    Column("n_judged", Integer, nullable=False),
    Column("n_in_band", Integer, nullable=False),
    UniqueConstraint("stint_id", "number"),
)

REP: Final = Table(
    "rep",
    METADATA,
    _id(),
    _of("practice"),
    _of("stint"),
    _of("block", optional=True),
    _of("club", optional=True),
    Column("number", Integer, nullable=False),
    Column("kind", String(20), nullable=False),
    Column("verdict", String(20), nullable=False),
    Column("worst", Double),
    Column("out_s", Double, nullable=False),
    Column("takeaway_s", Double, nullable=False),
    Column("finish_s", Double),
    Column("backswing_s", Double, nullable=False),
    Column("downswing_s", Double),
    Column("tempo", Double),
    Column("swing_length_arm_deg", Double),
    Column("swing_length_shaft_deg", Double),
    Column("quality", String(40), nullable=False),
    Column("flags", JSON, nullable=False),
    UniqueConstraint("practice_id", "number"),
    Index("ix_rep_stint_id", "stint_id"),
)

MARK: Final = Table(
    "mark",
    METADATA,
    _id(),
    _of("rep"),
    Column("name", String(20), nullable=False),
    Column("at_s", Double, nullable=False),
    *(Column(name, Double) for quantity in QUANTITIES for name in (quantity.name, quantity.sd_name)),
    Column("pitch_per_bend", Double),
    Column("pitch_per_roll", Double),
    Column("toe_deg", Double),
    UniqueConstraint("rep_id", "name"),
)

ANSWER: Final = Table(
    "answer",
    METADATA,
    _id(),
    _of("practice"),
    Column("author", Text, nullable=False),
    Column("written_unix_s", Double, nullable=False),
    Column("priority", Text, nullable=False),
    Column("drill_text", Text),
    UniqueConstraint("practice_id", "author", "written_unix_s"),
)

NOTE: Final = Table(
    "note",
    METADATA,
    _id(),
    _of("practice"),
    Column("number", Integer, nullable=False),
    Column("at_unix_s", Double, nullable=False),
    Column("author", Text, nullable=False),
    Column("kind", String(10), nullable=False),
    Column("text", Text, nullable=False),
    Column("rep_number", Integer),
    Column("after_takeaway_s", Double),
    UniqueConstraint("practice_id", "number"),
)
