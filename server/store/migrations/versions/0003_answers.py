"""What coaches answered to a practice."""

from __future__ import annotations

from typing import Final

import sqlalchemy as sa
from alembic import op

revision: Final = "0003"
down_revision: Final = "0002"


def upgrade() -> None:
    """Make the table."""
    op.create_table(
        "answer",
        sa.Column("id", sa.Integer, nullable=False),
        sa.Column("practice_id", sa.Integer, nullable=False),
        sa.Column("author", sa.Text, nullable=False),
        sa.Column("written_unix_s", sa.Double, nullable=False),
        sa.Column("priority", sa.Text, nullable=False),
        sa.Column("drill_text", sa.Text, nullable=True),
        sa.PrimaryKeyConstraint("id", name="pk_answer"),
        sa.ForeignKeyConstraint(["practice_id"], ["practice.id"], name="fk_answer_practice_id", ondelete="CASCADE"),
        sa.UniqueConstraint("practice_id", "author", "written_unix_s", name="uq_answer_practice_id"),
    )
