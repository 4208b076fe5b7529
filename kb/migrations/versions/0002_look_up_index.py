"""The full-text index of the look-up: FTS5 on SQLite, GIN on PostgreSQL.

Revision ID: 0002
Revises: 0001
"""

from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the index and the row of counters."""
    if op.get_bind().dialect.name == "sqlite":
        # The tokens stay in look_up_entry; the index holds only which entry has which token.
        op.execute(
            "CREATE VIRTUAL TABLE look_up_text USING fts5("
            "tokens, content='look_up_entry', content_rowid='id', detail='none', columnsize=0)"
        )
    else:
        op.execute(
            "CREATE INDEX look_up_text ON look_up_entry USING gin (to_tsvector('simple', tokens)) "
            "WITH (fastupdate = off)"
        )
    op.execute("INSERT INTO look_up_state (id, terms_version, names_version) VALUES (1, 1, 1)")


def downgrade() -> None:
    """Drop the index."""
    if op.get_bind().dialect.name == "sqlite":
        op.execute("DROP TABLE look_up_text")
    else:
        op.execute("DROP INDEX look_up_text")
    op.execute("DELETE FROM look_up_state")
