"""A known word sealed with the key."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the change."""
    op.create_table(
        "key_proof",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("word_sealed", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("id"),
    )


def downgrade() -> None:
    """Take it back."""
    op.drop_table("key_proof")
