"""A set that the coach watched belongs to no session of the client's."""

import sqlalchemy as sa
from alembic import op

revision = "0013"
down_revision = "0012"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the change."""
    with op.batch_alter_table("set") as batch:
        batch.alter_column("session_id", existing_type=sa.Integer(), nullable=True)


def downgrade() -> None:
    """Take it back; what the coach saw cannot be kept without a place for it."""
    op.execute('DELETE FROM "set" WHERE session_id IS NULL')
    with op.batch_alter_table("set") as batch:
        batch.alter_column("session_id", existing_type=sa.Integer(), nullable=False)
