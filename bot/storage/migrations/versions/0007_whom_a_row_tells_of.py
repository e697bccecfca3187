"""Whom a message tells of, so that it is erased with them, and words that go once they are sent."""

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision = "0006"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the change; of older rows nobody knows whom they tell of.

    Whoever was erased before stands in no list yet, and is erased anew: that took less.
    """
    for table in ("inbox", "outbox"):
        op.add_column(table, sa.Column("about", sa.String(), nullable=True))
    op.add_column(
        "outbox", sa.Column("forgets", sa.Boolean(), nullable=False, server_default=sa.false())
    )
    op.execute(
        "UPDATE client SET erase_asked_at = (SELECT left_at FROM person WHERE id = person_id) "
        "WHERE erase_asked_at IS NULL AND profile_sealed = '' AND person_id IN "
        "(SELECT id FROM person WHERE name_sealed = '' AND left_at IS NOT NULL)"
    )


def downgrade() -> None:
    """Take it back."""
    op.drop_column("outbox", "forgets")
    for table in ("outbox", "inbox"):
        op.drop_column(table, "about")
