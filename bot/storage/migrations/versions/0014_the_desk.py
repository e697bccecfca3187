"""A coach's hours and wishes; notes that are messages, pinned or edited."""

import sqlalchemy as sa
from alembic import op

import bot.storage.columns

revision = "0014"
down_revision = "0013"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the change; what was noted before is no message of a coach."""
    op.add_column("coach", sa.Column("desk_sealed", sa.Text(), nullable=False, server_default=""))
    for name in ("to_client", "pinned"):
        op.add_column(
            "note", sa.Column(name, sa.Boolean(), nullable=False, server_default=sa.false())
        )
    op.add_column(
        "note",
        sa.Column("edited_at", bot.storage.columns.UtcDateTime(timezone=True), nullable=True),
    )


def downgrade() -> None:
    """Take it back."""
    for name in ("edited_at", "pinned", "to_client"):
        op.drop_column("note", name)
    op.drop_column("coach", "desk_sealed")
