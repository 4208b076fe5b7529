"""A database brought up to date as a whole: its schema, and the look-up's index that older programs wrote."""

from sqlalchemy import Engine

from kb.edits.look_up_index import rebuild_index
from kb.migrate import HEAD, find_schema_version, upgrade_schema


def upgrade_database(engine: Engine) -> None:
    """Bring the schema up to date, and write the index of an older database anew; nothing when it is current.

    A newer program may read words, sizes and numbers in another way than the one that wrote the index.

    Raises:
        Unavailable: the database was written by a newer version.
    """
    before = find_schema_version(engine)
    upgrade_schema(engine)
    if before is not None and before != HEAD:
        with engine.execution_options(write=True).begin() as connection:
            rebuild_index(connection)
