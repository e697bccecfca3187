"""The day of the word of the week, and when it falls due next."""

import sqlalchemy as sa
from alembic import op

import bot.storage.columns

revision = "0012"
down_revision = "0011"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the change; the first word is worked out with the next check-in."""
    op.add_column(
        "client", sa.Column("week_word_day", sa.Integer(), nullable=False, server_default="7")
    )
    op.add_column(
        "client",
        sa.Column(
            "week_word_due_at", bot.storage.columns.UtcDateTime(timezone=True), nullable=True
        ),
    )
    op.create_index("ix_client_week_word_due_at", "client", ["week_word_due_at"])


def downgrade() -> None:
    """Take it back."""
    op.drop_index("ix_client_week_word_due_at", table_name="client")
    op.drop_column("client", "week_word_due_at")
    op.drop_column("client", "week_word_day")
