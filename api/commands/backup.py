"""``counterhand backup``: a verified copy of the database, also while it is served."""

from datetime import UTC, datetime
from pathlib import Path

import click

from api.commands.options import add_database_option, add_json_option, print_json
from api.settings import get_default_database, get_postgres_programs

EPILOG = """\b
Examples:
  counterhand backup monday.backup
  counterhand backup --db shop.db /media/stick/shop.backup

Exit status: 0 the copy was made and verified, 1 it was not, and no file of that name was left or changed."""


@click.command("backup", epilog=EPILOG)
@click.argument("file", type=click.Path(path_type=Path))
@add_json_option
@add_database_option
def command(*, file: Path, as_json: bool, database_url: str | None) -> None:
    """Copy the database into FILE, as it stands at one moment.

    The copy is checked (file, references, stock ledger) before it gets its name. It holds digests of access
    keys, no key. An earlier backup of that name is replaced; any other file is not.
    """
    from kb.backup.make import make_backup  # noqa: PLC0415 - keeps --help quick

    manifest = make_backup(
        database_url or get_default_database(), file, now=datetime.now(UTC), programs=get_postgres_programs()
    )
    if as_json:
        print_json({"file": str(file), **manifest.as_json()})
        return
    rows = sum(manifest.rows.values())
    click.echo(
        f"Backed up and verified: {rows} rows in {len(manifest.rows)} tables, "
        f"{manifest.copy_bytes / 1e6:.1f} MB, schema {manifest.schema}, in {file}"
    )
