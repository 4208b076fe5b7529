"""``counterhand restore``: put a backup in place."""

from datetime import UTC, datetime
from pathlib import Path

import click

from api.commands.options import add_database_option, add_json_option, print_json
from api.settings import get_default_database, get_postgres_programs

EPILOG = """\b
Examples:
  counterhand restore monday.backup
  counterhand restore monday.backup --db shop.db
  counterhand restore branches.backup --db postgresql://HOST/NEW_EMPTY_DATABASE

Exit status: 0 restored, 1 not, and the database is as it was."""


@click.command("restore", epilog=EPILOG)
@click.argument("file", type=click.Path(path_type=Path))
@add_json_option
@add_database_option
def command(*, file: Path, as_json: bool, database_url: str | None) -> None:
    """Verify the backup FILE, set the database aside and put the backup in its place.

    Stop the server first. Access keys are then those of the backup: revoke again what was revoked since.
    """
    from kb.backup.restore import restore_backup  # noqa: PLC0415 - keeps --help quick

    restored = restore_backup(
        database_url or get_default_database(), file, now=datetime.now(UTC), programs=get_postgres_programs()
    )
    aside = str(restored.set_aside) if restored.set_aside else None
    if as_json:
        print_json({**restored.manifest.as_json(), "set_aside": aside, "schema": restored.schema})
        return
    click.echo(f"Restored and verified the backup made {restored.manifest.made_at_utc} (UTC).")
    if restored.schema != restored.manifest.schema:
        click.echo(f"Its schema was updated from {restored.manifest.schema} to {restored.schema}.")
    if aside:
        click.echo(f"The database before it was set aside as {aside}")
