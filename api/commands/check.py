"""``counterhand check``: verify the database."""

import click

from api.commands.options import add_database_option, add_json_option, open_for_reading, print_json

EPILOG = """\b
Example:
  counterhand check

Exit status: 0 everything holds, 1 something does not."""


@click.command("check", epilog=EPILOG)
@add_json_option
@add_database_option
@click.pass_context
def command(ctx: click.Context, as_json: bool, database_url: str | None) -> None:
    """Verify the file, references, the stock ledger, replacement chains and the look-up's index."""
    from kb.lookups.check import check_database  # noqa: PLC0415 - keeps --help quick

    with open_for_reading(database_url) as session:
        results = check_database(session)
    if as_json:
        print_json({"ok": all(item.ok for item in results), "checks": [item.as_json() for item in results]})
    else:
        for item in results:
            sign = click.style("ok  ", fg="green") if item.ok else click.style("FAIL", fg="red", bold=True)
            click.echo(f"{sign} {item.what}" + (f": {item.detail}" if item.detail else ""))
    ctx.exit(0 if all(item.ok for item in results) else 1)
