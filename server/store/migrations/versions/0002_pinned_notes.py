"""A note can be pinned to an instant of its rep."""

from __future__ import annotations

from typing import Final

import sqlalchemy as sa
from alembic import op

revision: Final = "0002"
down_revision: Final = "0001"


def upgrade() -> None:
    """Make room for it."""
    op.add_column("note", sa.Column("after_takeaway_s", sa.Double, nullable=True))
