"""Who cleared a client of what was behind a hold, and when a sign was last told."""

import sqlalchemy as sa
from alembic import op

import bot.storage.columns

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the change; signs that joined an open alert count from when it was last opened again."""
    op.add_column("hold", sa.Column("cleared_kind", sa.String(), nullable=False, server_default=""))
    op.add_column("hold", sa.Column("cleared_on", sa.Date(), nullable=True))
    op.add_column(
        "alert",
        sa.Column("newest_sign_at", bot.storage.columns.UtcDateTime(timezone=True), nullable=True),
    )
    op.execute(
        "UPDATE alert SET newest_sign_at = COALESCE("
        "(SELECT MAX(audit.at) FROM audit WHERE audit.subject_id = alert.client_id"
        " AND audit.what LIKE 'alert_reopened_%' AND audit.at >= alert.raised_at),"
        " alert.raised_at) WHERE closed_at IS NULL"
    )


def downgrade() -> None:
    """Take it back."""
    with op.batch_alter_table("alert") as batch:
        batch.drop_column("newest_sign_at")
    with op.batch_alter_table("hold") as batch:
        batch.drop_column("cleared_on")
        batch.drop_column("cleared_kind")
