"""Walks and other steady activities of clients."""

import sqlalchemy as sa
from alembic import op

import bot.storage.columns

revision = "0011"
down_revision = "0010"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the change; nobody has told of a walk yet."""
    op.create_table(
        "walk",
        sa.Column("id", sa.Integer(), primary_key=True),
        sa.Column("client_id", sa.Integer(), sa.ForeignKey("person.id"), nullable=False),
        sa.Column("on_date", sa.Date(), nullable=False),
        sa.Column("status", sa.String(), nullable=False),
        sa.Column("started_at", bot.storage.columns.UtcDateTime(timezone=True), nullable=True),
        sa.Column("ended_at", bot.storage.columns.UtcDateTime(timezone=True), nullable=True),
        sa.Column("told_sealed", sa.Text(), nullable=False),
    )
    op.create_index("ix_walk_client_id", "walk", ["client_id"])


def downgrade() -> None:
    """Take it back; the walks are lost."""
    op.drop_index("ix_walk_client_id", table_name="walk")
    op.drop_table("walk")
