"""A time away has a first day."""

import sqlalchemy as sa
from alembic import op

revision = "0016"
down_revision = "0015"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the change."""
    op.add_column("client", sa.Column("away_from", sa.Date(), nullable=True))


def downgrade() -> None:
    """Take it back: a time away that has not begun begins at once."""
    op.drop_column("client", "away_from")
