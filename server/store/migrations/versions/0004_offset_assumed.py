"""Whether a practice's own clock is known, or that of the computer that filled it in was taken, as until now always."""

from __future__ import annotations

from typing import Final

import sqlalchemy as sa
from alembic import op

revision: Final = "0004"
down_revision: Final = "0003"


def upgrade() -> None:
    """Say so of the practices that are there."""
    op.add_column("practice", sa.Column("offset_assumed", sa.Boolean, nullable=False, server_default=sa.true()))
