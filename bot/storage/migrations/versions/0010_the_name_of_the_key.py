"""The name of the key with which a store is sealed, and when it was changed."""

import sqlalchemy as sa
from alembic import op

import bot.storage.columns

revision = "0010"
down_revision = "0009"
branch_labels = None
depends_on = None

NAMES = ("key_name", "chats_name")


def upgrade() -> None:
    """Make the change; the names are written down when the key has proved itself."""
    for name in NAMES:
        op.add_column("key_proof", sa.Column(name, sa.String(), nullable=False, server_default=""))
    op.add_column(
        "key_proof",
        sa.Column("changed_at", bot.storage.columns.UtcDateTime(timezone=True), nullable=True),
    )


def downgrade() -> None:
    """Take it back."""
    for name in (*NAMES, "changed_at"):
        op.drop_column("key_proof", name)
