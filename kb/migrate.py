"""The schema's version: bring a database up to date, or say that it is not.

Alembic is imported only when tables are made or changed, because that import costs more than a lookup.
"""

from importlib.resources import files

from sqlalchemy import Engine, inspect, text
from sqlalchemy.exc import DatabaseError

from kb.errors import Unavailable

HEAD = "0006"


def find_schema_version(engine: Engine) -> str | None:
    """Version of the stored schema, or None for a database without tables."""
    try:
        with engine.connect() as connection:
            if not inspect(connection).has_table("alembic_version"):
                return None
            version: str | None = connection.execute(text("SELECT version_num FROM alembic_version")).scalar()
            return version
    except DatabaseError as error:
        raise Unavailable(
            f"The database cannot be opened: {str(error.orig).splitlines()[0]}; check its address and rights."
        ) from error


def check_schema(engine: Engine) -> None:
    """Refuse a database that this program's version cannot work with.

    Raises:
        Unavailable: the database is empty, older or newer than the program.
    """
    version = find_schema_version(engine)
    if version is None:
        raise Unavailable("The database is empty; load a catalogue with: counterhand import FOLDER.")
    if version != HEAD:
        raise Unavailable(
            f"The database has schema '{version}' but this program works with '{HEAD}'; "
            "use the program version that wrote it, or update it with: counterhand import FOLDER."
        )


def is_known_version(version: str) -> bool:
    """Whether this program can bring a schema of that version up to date."""
    if version == HEAD:
        return True
    from alembic.script import ScriptDirectory  # noqa: PLC0415 - slow import, see the module's docstring

    script = ScriptDirectory(str(files("kb") / "migrations"))
    return version in {revision.revision for revision in script.walk_revisions()}


def upgrade_schema(engine: Engine) -> None:
    """Bring the schema up to date; does nothing when it is.

    Raises:
        Unavailable: the database was written by a newer version.
    """
    if find_schema_version(engine) == HEAD:
        return
    from alembic import command  # noqa: PLC0415 - slow import, see the module's docstring
    from alembic.config import Config  # noqa: PLC0415
    from alembic.util import CommandError  # noqa: PLC0415

    config = Config()
    config.set_main_option("script_location", str(files("kb") / "migrations"))
    config.attributes["engine"] = engine
    try:
        command.upgrade(config, "head")
    except CommandError as error:
        raise Unavailable(f"The database was written by another version: {error}.") from error
