"""``counterhand demo``: an invented shop to try everything on."""

from datetime import UTC, datetime
from importlib.util import find_spec
from pathlib import Path

import click

from api.commands.options import add_database_option, add_json_option, open_engine
from api.commands.serve import DEFAULT_PORT, bind, serve
from api.settings import get_data_folder

EPILOG = """\b
Examples:
  counterhand demo
  counterhand demo --port 9000 --no-open"""


@click.command("demo", epilog=EPILOG)
@click.option(
    "--port", default=DEFAULT_PORT, show_default=True, help="Wished port; a free one if it is taken."
)
@click.option("--no-open", is_flag=True, help="Do not open a browser.")
@add_json_option
@add_database_option
def command(port: int, no_open: bool, as_json: bool, database_url: str | None) -> None:
    """Make a database from the demo catalogue, serve it and print the address.

    Everything in it is invented: makers, engines, parts and figures. Use none of it on a real machine.
    """
    listener = bind("127.0.0.1", port, or_free=True)
    url = database_url or make_demo_database(get_data_folder() / "demo.db")
    engine = open_engine(url)
    load_demo(engine)
    if not as_json:
        click.echo(f"Demo database: {url.removeprefix('sqlite:///')} (all of it invented)")
    serve(engine, listener, opens_browser=not no_open, as_json=as_json)


def make_demo_database(path: Path) -> str:
    """URL of an empty file for the demo; an earlier demo there is thrown away."""
    for leftover in (path, path.with_name(path.name + "-wal"), path.with_name(path.name + "-shm")):
        leftover.unlink(missing_ok=True)
    return f"sqlite:///{path}"


def load_demo(engine: object) -> None:
    """Load the demo catalogue that ships with the program."""
    from sqlalchemy import Engine  # noqa: PLC0415 - keeps --help quick

    from importers.load import load_catalogue  # noqa: PLC0415
    from kb.database import open_writer  # noqa: PLC0415
    from kb.edits.upgrade import upgrade_database  # noqa: PLC0415

    assert isinstance(engine, Engine)
    upgrade_database(engine)
    with open_writer(engine) as session:
        report = load_catalogue(session, find_demo_catalog(), now=datetime.now(UTC))
    if report.has_problems:
        raise click.ClickException("The demo catalogue does not load; this copy of the program is damaged.")


def find_demo_catalog() -> Path:
    """The folder of the demo catalogue, which is shipped as data beside the packages."""
    spec = find_spec("demo_catalog")
    folders = list(spec.submodule_search_locations or ()) if spec else []
    if not folders:
        raise click.ClickException("The demo catalogue is missing; install the program again.")
    return Path(folders[0])
