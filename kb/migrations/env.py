"""Runs the migrations on the engine that ``kb.migrate`` hands over."""

from alembic import context
from sqlmodel import SQLModel

import kb.tables.schema  # noqa: F401 - defines every table
from kb.tables.columns import complete_partial_indexes

complete_partial_indexes()

engine = context.config.attributes["engine"]
is_sqlite = engine.dialect.name == "sqlite"


def include_object(obj, name, type_, reflected, compare_to):
    """Leave the full-text index's own tables to the migration that made them."""
    return not (type_ in ("table", "index") and name is not None and name.startswith("look_up_text"))


with engine.execution_options(write=True).connect() as connection:
    if is_sqlite:
        # Batch changes rebuild parent tables; foreign keys are checked as a whole afterwards.
        connection.connection.dbapi_connection.execute("PRAGMA foreign_keys=OFF")
    try:
        context.configure(
            connection=connection,
            target_metadata=SQLModel.metadata,
            render_as_batch=is_sqlite,
            compare_type=True,
            include_object=include_object,
        )
        with context.begin_transaction():
            context.run_migrations()
            if is_sqlite and connection.exec_driver_sql("PRAGMA foreign_key_check").first():
                raise RuntimeError("Foreign keys are broken after the migration; nothing was changed.")
        connection.commit()
    finally:
        if is_sqlite:
            connection.connection.dbapi_connection.execute("PRAGMA foreign_keys=ON")
