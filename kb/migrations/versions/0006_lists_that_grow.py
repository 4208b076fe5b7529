"""Indexes in the order of lists that grow: orders and jobs of a state, jobs by their end, a part's ledger.

Revision ID: 0006
Revises: 0005
"""

from alembic import op

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None

ORDERS = {
    "ix_purchase_order_state_name": ("purchase_order", ["state", "order_name"]),
    "ix_machine_job_state": ("machine_job", ["state", "id"]),
    "ix_machine_job_ended": ("machine_job", ["ended_at_utc", "id"]),
    "ix_stock_movement_part": ("stock_movement", ["part_id", "id"]),
}


def upgrade() -> None:
    """Make the indexes."""
    for name, (table, columns) in ORDERS.items():
        op.create_index(name, table, columns)


def downgrade() -> None:
    """Drop them."""
    for name, (table, _columns) in ORDERS.items():
        op.drop_index(name, table_name=table)
