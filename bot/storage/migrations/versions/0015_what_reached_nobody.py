"""Whether what was last to be said of an alert reached nobody."""

import sqlalchemy as sa
from alembic import op

revision = "0015"
down_revision = "0014"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the change; of older alerts it is not known, and they stand on the coach's list."""
    op.add_column(
        "alert", sa.Column("untold", sa.Boolean(), nullable=False, server_default=sa.false())
    )


def downgrade() -> None:
    """Take it back."""
    op.drop_column("alert", "untold")
