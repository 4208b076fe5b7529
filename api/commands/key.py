"""``counterhand key``: access keys, given out, listed and taken back."""

from datetime import UTC, datetime, timedelta

import click

from api.commands.options import (
    add_database_option,
    add_json_option,
    open_engine,
    open_for_reading,
    print_json,
)
from api.commands.printing import print_table
from kb.terms import Role

EPILOG = """\b
Examples:
  counterhand key add "counter laptop" --role stock
  counterhand key add backup-script --role admin --days 365
  counterhand key list
  counterhand key revoke "counter laptop"

Roles: read looks up; stock also books pieces and orders and sees prices; admin also imports and edits."""


@click.group("key", epilog=EPILOG)
def command() -> None:
    """Access keys, for people who sign in and for scripts.

    Without any key this machine alone may use the pages. With one, everybody shows a key.
    """


@command.command("add", epilog=EPILOG)
@click.argument("name")
@click.option(
    "--role", required=True, type=click.Choice([role.value for role in Role]), help="What the key opens."
)
@click.option(
    "--days", type=click.IntRange(1, 3650), help="Days until the key expires; without it, it does not."
)
@add_json_option
@add_database_option
def add_command(*, name: str, role: str, days: int | None, as_json: bool, database_url: str | None) -> None:
    """Make a key called NAME and show it, this once."""
    from kb.database import open_writer  # noqa: PLC0415 - keeps --help quick
    from kb.edits.access import add_access_key  # noqa: PLC0415
    from kb.edits.upgrade import upgrade_database  # noqa: PLC0415

    engine = open_engine(database_url)
    upgrade_database(engine)
    now = datetime.now(UTC)
    expires = now + timedelta(days=days) if days else None
    with open_writer(engine) as session:
        issued = add_access_key(session, name, Role(role), now=now, expires_at_utc=expires)
    engine.dispose()
    if as_json:
        expiry = issued.expires_at_utc.isoformat() if issued.expires_at_utc else None
        answer = {"name": issued.name, "role": role, "prefix": issued.prefix, "key": issued.key}
        print_json({**answer, "expires_at_utc": expiry})
        return
    click.echo(issued.key)
    until = f", until {issued.expires_at_utc:%Y-%m-%d}" if issued.expires_at_utc else ""
    click.echo(f"Key '{issued.name}' opens {role}{until}. Keep it now: it is not shown again.", err=True)


@command.command("list", epilog=EPILOG)
@add_json_option
@add_database_option
def list_command(*, as_json: bool, database_url: str | None) -> None:
    """List all keys by name and first characters, also those revoked."""
    from kb.lookups.access import list_access_keys  # noqa: PLC0415 - keeps --help quick

    with open_for_reading(database_url) as session:
        keys = [key.as_json() for key in list_access_keys(session, now=datetime.now(UTC))]
    if as_json:
        print_json({"keys": keys})
        return
    if not keys:
        click.echo("No key was given out; this machine alone may use the pages.")
        return
    for key in keys:
        for name in ("made_at_utc", "expires_at_utc", "last_used_at_utc"):
            key[name] = key[name][:10] if key[name] else None
    print_table(
        keys,
        {
            "name": "Name",
            "role": "Role",
            "prefix": "Begins",
            "state": "State",
            "made_at_utc": "Made",
            "expires_at_utc": "Expires",
            "last_used_at_utc": "Last used",
        },
    )


@command.command("revoke", epilog=EPILOG)
@click.argument("name")
@add_json_option
@add_database_option
def revoke_command(*, name: str, as_json: bool, database_url: str | None) -> None:
    """End the key called NAME (or beginning with its first characters) and its sign-ins, at once."""
    from kb.database import open_writer  # noqa: PLC0415 - keeps --help quick
    from kb.edits.access import revoke_access_key  # noqa: PLC0415
    from kb.lookups.access import has_keys  # noqa: PLC0415
    from kb.migrate import check_schema  # noqa: PLC0415

    engine = open_engine(database_url)
    check_schema(engine)
    with open_writer(engine) as session:
        revoked = revoke_access_key(session, name, now=datetime.now(UTC))
        is_open = not has_keys(session)
    engine.dispose()
    if as_json:
        print_json({"revoked": revoked, "keys_left": not is_open})
        return
    click.echo(f"Key '{revoked}' opens nothing any more.")
    if is_open:
        click.echo("No key is left: a server on this machine answers without one again.", err=True)
