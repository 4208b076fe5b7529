"""What the shop writes down of a supplier's terms: smallest order, free freight, freight, margin.

Revision ID: 0004
Revises: 0003
"""

import sqlalchemy as sa
import sqlmodel
from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None

TABLE = "supplier_terms"
CHECKED = ("smallest_order_minor", "free_freight_from_minor", "freight_minor", "margin_percent")


def upgrade() -> None:
    """Make the table."""
    op.create_table(
        TABLE,
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("supplier_id", sa.Integer(), nullable=False),
        sa.Column("smallest_order_minor", sa.Integer(), nullable=True),
        sa.Column("free_freight_from_minor", sa.Integer(), nullable=True),
        sa.Column("freight_minor", sa.Integer(), nullable=True),
        sa.Column("margin_percent", sa.Float(), nullable=True),
        sa.Column("note", sqlmodel.sql.sqltypes.AutoString(), nullable=True),
        sa.Column("made_by", sqlmodel.sql.sqltypes.AutoString(), nullable=True),
        sa.Column("made_at_utc", sqlmodel.sql.sqltypes.UTCDateTime(), nullable=False),
        *(
            sa.CheckConstraint(f"{name} >= 0", name=op.f(f"ck_{TABLE}_{name}_not_negative"))
            for name in CHECKED
        ),
        sa.ForeignKeyConstraint(
            ["supplier_id"], ["supplier.id"], name=op.f(f"fk_{TABLE}_supplier_id"), ondelete="RESTRICT"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f(f"pk_{TABLE}")),
        sa.UniqueConstraint("supplier_id", name=op.f(f"uq_{TABLE}_supplier_id")),
    )


def downgrade() -> None:
    """Drop the table."""
    op.drop_table(TABLE)
