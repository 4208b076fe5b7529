"""The schema's history: up, compared with the tables, down, up again, on both databases."""

import importlib
from importlib.resources import files

import pytest
from alembic import command
from alembic.config import Config
from alembic.script import ScriptDirectory
from sqlalchemy import Engine, inspect, text
from sqlmodel import SQLModel

import kb.tables.schema  # noqa: F401 - fills the metadata
from kb.database import open_database
from kb.errors import Unavailable
from kb.migrate import HEAD, check_schema, find_schema_version, upgrade_schema
from kb.tables.columns import TABLES_OF_MODULE


def build_config(engine: Engine) -> Config:
    config = Config()
    config.set_main_option("script_location", str(files("kb") / "migrations"))
    config.attributes["engine"] = engine
    return config


def test_head_is_the_last_migration():
    config = Config()
    config.set_main_option("script_location", str(files("kb") / "migrations"))
    assert ScriptDirectory.from_config(config).get_current_head() == HEAD


def test_migrated_schema_is_that_of_the_tables(database):
    command.check(build_config(database))


def test_downgrade_leaves_nothing_and_upgrade_comes_back(database):
    config = build_config(database)
    command.downgrade(config, "base")
    assert set(inspect(database).get_table_names()) <= {"alembic_version"}
    command.upgrade(config, "head")
    command.check(config)
    assert set(SQLModel.metadata.tables) <= set(inspect(database).get_table_names())


def test_upgrade_of_an_up_to_date_database_does_nothing(database):
    upgrade_schema(database)
    assert find_schema_version(database) == HEAD


def test_empty_database_has_no_version_and_is_refused(tmp_path):
    engine = open_database(str(tmp_path / "empty.db"))
    assert find_schema_version(engine) is None
    with pytest.raises(Unavailable, match="is empty"):
        check_schema(engine)
    engine.dispose()


def test_current_schema_is_accepted(database):
    check_schema(database)


def test_schema_of_another_version_is_refused(database):
    with database.begin() as connection:
        connection.execute(text("UPDATE alembic_version SET version_num = '9999'"))
    with pytest.raises(Unavailable, match="'9999'"):
        check_schema(database)
    with pytest.raises(Unavailable, match="another version"):
        upgrade_schema(database)


def test_foreign_keys_are_on_again_after_a_migration(sqlite_engine):
    command.downgrade(build_config(sqlite_engine), "base")
    command.upgrade(build_config(sqlite_engine), "head")
    with sqlite_engine.connect() as connection:
        assert connection.execute(text("PRAGMA foreign_keys")).scalar() == 1


def test_every_table_is_found_in_the_module_named_for_it() -> None:
    stored = set(SQLModel.metadata.tables)
    found = {module: {name for name in stored if _is_in(name, module)} for module in TABLES_OF_MODULE}
    assert found == {module: set(tables) for module, tables in TABLES_OF_MODULE.items()}
    assert set().union(*found.values()) == stored


def _is_in(table: str, module: str) -> bool:
    classes = vars(importlib.import_module(f"kb.tables.{module}")).values()
    return any(getattr(item, "__tablename__", None) == table for item in classes)
