"""With which words the look-up's index was written, and a full-text index over the engines alone.

Revision ID: 0005
Revises: 0004
"""

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the column, empty until the index is written anew, and the index."""
    with op.batch_alter_table("look_up_state") as batch_op:
        batch_op.add_column(sa.Column("words_fingerprint", sa.Text(), nullable=True))
    if op.get_bind().dialect.name != "sqlite":
        # SQLite reads its full-text index up to the last engine, PostgreSQL would read all parts of a word.
        op.execute(
            "CREATE INDEX look_up_text_engine ON look_up_entry USING gin (to_tsvector('simple', tokens)) "
            "WITH (fastupdate = off) WHERE id % 2 = 1"
        )


def downgrade() -> None:
    """Drop both."""
    if op.get_bind().dialect.name != "sqlite":
        op.execute("DROP INDEX look_up_text_engine")
    with op.batch_alter_table("look_up_state") as batch_op:
        batch_op.drop_column("words_fingerprint")
