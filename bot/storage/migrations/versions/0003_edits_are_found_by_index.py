"""The edits of a message are found by index: each tap looks for them."""

from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the change."""
    op.create_index("ix_outbox_edits", "outbox", ["edits_id"])


def downgrade() -> None:
    """Take it back."""
    op.drop_index("ix_outbox_edits", "outbox")
