"""A database brought up to date as a whole: its schema, and the look-up's index that other programs wrote."""

from sqlalchemy import Engine

from kb.edits.look_up_index import is_written_with_other_words, rebuild_old_index
from kb.migrate import upgrade_schema


def upgrade_database(engine: Engine) -> None:
    """Bring the schema up to date, and write an index of other words anew; nothing when both are current.

    Another release may read words, sizes and numbers in another way than the one that wrote the index.

    Raises:
        Unavailable: the database was written by a newer version.
    """
    upgrade_schema(engine)
    with engine.connect() as connection:
        is_old = is_written_with_other_words(connection)
    if is_old:
        with engine.execution_options(write=True).begin() as connection:
            rebuild_old_index(connection)
