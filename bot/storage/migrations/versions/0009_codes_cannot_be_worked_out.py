"""Invitations are found by a hash that needs the key, and wrong codes are counted."""

import sqlalchemy as sa
from alembic import context, op

import bot.storage.columns
from bot.storage.encryption import Encryption

revision = "0009"
down_revision = "0008"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the change; codes that were given out stay good."""
    op.create_table(
        "guess",
        sa.Column("id", sa.Integer(), primary_key=True),
        sa.Column("channel", sa.String(), nullable=False),
        sa.Column("address", sa.String(), nullable=False),
        sa.Column("at", bot.storage.columns.UtcDateTime(timezone=True), nullable=False),
    )
    op.create_index("ix_guess_at", "guess", ["at"])
    encryption: Encryption = context.config.attributes["encryption"]
    rows = sa.table("invitation", sa.column("id"), sa.column("code_hash"))
    for row in op.get_bind().execute(sa.select(rows)).all():
        op.get_bind().execute(
            sa.update(rows)
            .where(rows.c.id == row.id)
            .values(code_hash=encryption.hashed(row.code_hash))
        )


def downgrade() -> None:
    """Take it back; codes that were given out are good no more: nobody can turn a hash back."""
    op.drop_index("ix_guess_at", table_name="guess")
    op.drop_table("guess")
