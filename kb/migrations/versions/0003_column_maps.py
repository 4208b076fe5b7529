"""What the columns of somebody's lists mean, remembered for the next one.

Revision ID: 0003
Revises: 0002
"""

import sqlalchemy as sa
import sqlmodel
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the table."""
    op.create_table(
        "column_map",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sqlmodel.sql.sqltypes.AutoString(), nullable=False),
        sa.Column("kind", sqlmodel.sql.sqltypes.AutoString(), nullable=False),
        sa.Column("headings_key", sa.Text(), nullable=False),
        sa.Column("mapping_json", sa.Text(), nullable=False),
        sa.Column("saved_at_utc", sqlmodel.sql.sqltypes.UTCDateTime(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_column_map")),
        sa.UniqueConstraint("name", "kind", name=op.f("uq_column_map_name_kind")),
    )


def downgrade() -> None:
    """Drop the table."""
    op.drop_table("column_map")
