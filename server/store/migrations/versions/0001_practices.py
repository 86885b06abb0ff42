"""Practices with their drills, reps, marks and notes.

Quantities stand here by name and not by `server.analysis.quantities`: what that says tomorrow must not change this step.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

import sqlalchemy as sa
from alembic import op

revision: Final = "0001"
down_revision: Final = None

_QUANTITIES: Final = (
    "bend_deg", "bend_change_deg", "hinge_deg", "hinge_change_deg", "forearm_roll_deg", "shaft_elevation_deg",
    "shaft_pitch_deg", "face_twist_deg", "butt_line_m",
)  # fmt: skip


def _table(name: str, *parts: sa.Column[Any] | sa.Constraint) -> None:
    op.create_table(
        name, sa.Column("id", sa.Integer, nullable=False), *parts, sa.PrimaryKeyConstraint("id", name=f"pk_{name}")
    )


def _ref(table: str, other: str, rule: str = "CASCADE", *, nullable: bool = False) -> Sequence[Any]:
    column = f"{other}_id"
    key = sa.ForeignKeyConstraint([column], [f"{other}.id"], name=f"fk_{table}_{column}", ondelete=rule)
    return sa.Column(column, sa.Integer, nullable=nullable), key


def _unique(table: str, *columns: str) -> sa.UniqueConstraint:
    return sa.UniqueConstraint(*columns, name=f"uq_{table}_{columns[0]}")


def _col(name: str, kind: Any, *, nullable: bool = False) -> sa.Column[Any]:
    return sa.Column(name, kind, nullable=nullable)


def upgrade() -> None:
    """Make them all."""
    _table("player", _col("name", sa.Text), _unique("player", "name"))
    _table(
        "club",
        *_ref("club", "player"),
        _col("name", sa.Text),
        _col("length_m", sa.Double, nullable=True),
        _unique("club", "player_id", "name"),
    )
    _table(
        "sensor",
        _col("address", sa.Text),
        _col("name", sa.Text),
        _col("profile", sa.Text),
        _col("firmware", sa.Text),
        _unique("sensor", "address"),
    )
    _table(
        "practice",
        _col("key", sa.String(64)),
        *_ref("practice", "player"),
        _col("provenance", sa.Text),
        _col("lead_side", sa.String(10)),
        _col("begun_unix_s", sa.Double),
        _col("utc_offset_s", sa.Integer),
        _col("day", sa.String(10)),
        _col("duration_s", sa.Double),
        _col("n_packets", sa.BigInteger),
        _col("program_version", sa.String(60)),
        _unique("practice", "key"),
    )
    op.create_index("ix_practice_player_day", "practice", ["player_id", "day"])
    _table(
        "worn",
        *_ref("worn", "practice"),
        *_ref("worn", "sensor", "RESTRICT"),
        _col("role", sa.String(20)),
        _unique("worn", "practice_id", "sensor_id"),
    )
    _table(
        "recording",
        *_ref("recording", "practice"),
        _col("path", sa.Text),
        _col("sha256", sa.String(64)),
        _col("size_bytes", sa.BigInteger),
        _unique("recording", "sha256"),
    )
    op.create_index("ix_recording_practice_id", "recording", ["practice_id"])
    _drills()
    _reps()


def _drills() -> None:
    _table(
        "drill",
        _col("sha256", sa.String(64)),
        _col("name", sa.Text),
        _col("quantity", sa.String(40)),
        _col("unit", sa.String(10)),
        _col("low", sa.Double),
        _col("high", sa.Double),
        _col("text", sa.Text),
        _unique("drill", "sha256"),
    )
    _table(
        "stint",
        *_ref("stint", "practice"),
        *_ref("stint", "drill", "RESTRICT"),
        _col("number", sa.Integer),
        _col("begun_unix_s", sa.Double),
        _unique("stint", "practice_id", "number"),
    )
    _table(
        "block",
        *_ref("block", "stint"),
        *(_col(name, sa.Integer) for name in ("number", "n_reps")),
        _col("cue", sa.String(20)),
        *(_col(name, sa.Integer) for name in ("n_swung", "n_cued", "n_judged", "n_in_band")),
        _unique("block", "stint_id", "number"),
    )


def _reps() -> None:
    _table(
        "rep",
        *_ref("rep", "practice"),
        *_ref("rep", "stint"),
        *_ref("rep", "block", nullable=True),
        *_ref("rep", "club", nullable=True),
        _col("number", sa.Integer),
        _col("kind", sa.String(20)),
        _col("verdict", sa.String(20)),
        _col("worst", sa.Double, nullable=True),
        _col("out_s", sa.Double),
        _col("takeaway_s", sa.Double),
        _col("finish_s", sa.Double, nullable=True),
        _col("backswing_s", sa.Double),
        *(
            _col(name, sa.Double, nullable=True)
            for name in ("downswing_s", "tempo", "swing_length_arm_deg", "swing_length_shaft_deg")
        ),
        _col("quality", sa.String(40)),
        _col("flags", sa.JSON),
        _unique("rep", "practice_id", "number"),
    )
    op.create_index("ix_rep_stint_id", "rep", ["stint_id"])
    _table(
        "mark",
        *_ref("mark", "rep"),
        _col("name", sa.String(20)),
        _col("at_s", sa.Double),
        *(_col(name, sa.Double, nullable=True) for quantity in _QUANTITIES for name in (quantity, f"{quantity}_sd")),
        *(_col(name, sa.Double, nullable=True) for name in ("pitch_per_bend", "pitch_per_roll", "toe_deg")),
        _unique("mark", "rep_id", "name"),
    )
    _table(
        "note",
        *_ref("note", "practice"),
        _col("number", sa.Integer),
        _col("at_unix_s", sa.Double),
        _col("author", sa.Text),
        _col("kind", sa.String(10)),
        _col("text", sa.Text),
        _col("rep_number", sa.Integer, nullable=True),
        _unique("note", "practice_id", "number"),
    )
