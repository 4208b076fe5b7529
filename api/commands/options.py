"""Options that every command takes, and opening the database that they name."""

import json
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

import click
from click.core import ParameterSource
from sqlalchemy import Engine
from sqlmodel import Session

from api.settings import DATABASE_VARIABLE, get_default_database

Decorated = Callable[..., Any]


def add_database_option(function: Decorated) -> Decorated:
    """``--db URL``, else the environment, else the user's own file."""
    return click.option(
        "--db",
        "database_url",
        metavar="URL",
        envvar=DATABASE_VARIABLE,
        callback=_take_said_before,
        help=f"Database: a SQLite file or a postgresql:// address. Also {DATABASE_VARIABLE}.",
    )(function)


def add_json_option(function: Decorated) -> Decorated:
    """``--json``."""
    return click.option(
        "--json", "as_json", is_flag=True, callback=_take_said_before, help="Print the answer as JSON."
    )(function)


def _take_said_before(context: click.Context, option: click.Parameter, value: Any) -> Any:
    """What stands behind the command, else what stood before it, else the environment and the default."""
    name = option.name or ""
    if context.get_parameter_source(name) is ParameterSource.COMMANDLINE:
        return value
    return context.find_root().params.get(name) or value


def open_engine(database_url: str | None) -> Engine:
    """Engine for the database named, without looking at its schema; closed when the command ends."""
    from kb.database import open_database  # noqa: PLC0415 - keeps --help quick

    engine = open_database(database_url or get_default_database())
    context = click.get_current_context(silent=True)
    if context is not None:
        context.call_on_close(engine.dispose)
    return engine


@contextmanager
def open_for_reading(database_url: str | None) -> Iterator[Session]:
    """Reading session on a database of this program's schema; a file that is not there is not made."""
    from kb.database import find_sqlite_file, open_reader  # noqa: PLC0415
    from kb.errors import Unavailable  # noqa: PLC0415
    from kb.migrate import check_schema  # noqa: PLC0415

    engine = open_engine(database_url)
    file = find_sqlite_file(database_url or get_default_database())
    if file is not None and not file.exists():
        raise Unavailable(
            f"There is no database at '{file}'; check --db and {DATABASE_VARIABLE}, "
            "or make one with: counterhand import FOLDER."
        )
    check_schema(engine)
    with open_reader(engine) as session:
        yield session


def print_json(answer: Any) -> None:
    """One JSON document on standard output."""
    click.echo(json.dumps(answer, ensure_ascii=False, indent=2))
