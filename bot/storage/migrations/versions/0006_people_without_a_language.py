"""A service speaks one language: what was kept of each person's was never read."""

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the change, in place: rows of other tables point at the people."""
    op.drop_column("person", "language")


def downgrade() -> None:
    """Take it back; everybody spoke English."""
    language = sa.Column("language", sa.String(), nullable=False, server_default="en")
    op.add_column("person", language)
