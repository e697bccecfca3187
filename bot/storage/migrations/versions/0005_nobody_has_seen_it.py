"""Since when nobody has seen an alert, what was said of it to whom, and an erasure that waits."""

import sqlalchemy as sa
from alembic import op

import bot.storage.columns

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None

COUNTS = ("told_upto", "client_told")


def upgrade() -> None:
    """Make the change; nobody has seen the open alerts of before since they were raised.

    Their words count as not said yet: to say them once more loses none.
    """
    moment = bot.storage.columns.UtcDateTime(timezone=True)
    op.add_column("client", sa.Column("erase_asked_at", moment, nullable=True))
    op.add_column("alert", sa.Column("unseen_since", moment, nullable=True))
    op.add_column("alert", sa.Column("client_due_at", moment, nullable=True))
    op.add_column(
        "alert", sa.Column("backup_told", sa.Boolean(), nullable=False, server_default=sa.false())
    )
    for name in COUNTS:
        op.add_column("alert", sa.Column(name, sa.Integer(), nullable=False, server_default="0"))
    op.create_index("ix_alert_client_due_at", "alert", ["client_due_at"])
    op.execute(
        "UPDATE alert SET unseen_since = raised_at WHERE closed_at IS NULL AND seen_at IS NULL"
    )


def downgrade() -> None:
    """Take it back."""
    op.drop_index("ix_alert_client_due_at", table_name="alert")
    with op.batch_alter_table("alert") as batch:
        for name in (*COUNTS, "backup_told", "client_due_at", "unseen_since"):
            batch.drop_column(name)
    with op.batch_alter_table("client") as batch:
        batch.drop_column("erase_asked_at")
