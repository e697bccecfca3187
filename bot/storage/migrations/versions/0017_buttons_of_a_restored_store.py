"""Buttons tell which life of the store they were shown in."""

import sqlalchemy as sa
from alembic import op

revision = "0017"
down_revision = "0016"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the change."""
    op.add_column(
        "key_proof", sa.Column("generation", sa.String(), nullable=False, server_default="")
    )


def downgrade() -> None:
    """Take it back: buttons of every life count again."""
    op.drop_column("key_proof", "generation")
