"""``counterhand undo-import``: take one import back."""

from datetime import UTC, datetime

import click

from api.commands.options import add_database_option, add_json_option, open_engine, print_json

EPILOG = """\b
Examples:
  counterhand undo-import 20260131-120000-1a2b3c

Exit status: 0 done, 1 no such batch, or later work depends on it and nothing was changed."""


@click.command("undo-import", epilog=EPILOG)
@click.argument("batch")
@add_json_option
@add_database_option
def command(*, batch: str, as_json: bool, database_url: str | None) -> None:
    """Take the import BATCH back: what it added goes, what it changed is as before."""
    from kb.database import open_writer  # noqa: PLC0415 - keeps --help quick
    from kb.edits.undo import undo_batch  # noqa: PLC0415
    from kb.migrate import check_schema  # noqa: PLC0415

    engine = open_engine(database_url)
    check_schema(engine)
    with open_writer(engine) as session:
        report = undo_batch(session, batch, datetime.now(UTC))
    if as_json:
        print_json(report.as_json())
        return
    for word, counts in (("removed", report.removed), ("restored", report.restored), ("kept", report.kept)):
        for table, rows in counts.items():
            click.echo(f"{table}: {rows} rows {word}")
    if report.countered_movements:
        click.echo(f"stock: {report.countered_movements} movements countered")
    click.echo(f"Import {report.batch} is taken back.")
