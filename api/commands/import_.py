"""``counterhand import``: load a catalogue folder."""

from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import click

from api.commands.options import add_database_option, add_json_option, open_engine, print_json
from api.commands.printing import print_table

EXIT_REFUSED = 3
SHOWN_PROBLEMS = 40
EPILOG = """\b
Examples:
  counterhand import my_catalogue/ --dry-run
  counterhand import my_catalogue/

Exit status: 0 done, 3 rows were refused and nothing was written, 1 failed."""


@click.command("import", epilog=EPILOG)
@click.argument("path", type=click.Path(path_type=Path))
@click.option("--dry-run", is_flag=True, help="Say what would happen, write nothing.")
@add_json_option
@add_database_option
@click.pass_context
def command(ctx: click.Context, path: Path, dry_run: bool, as_json: bool, database_url: str | None) -> None:
    """Load PATH, a folder of CSV files; all of it or nothing."""
    from importers.load import load_catalogue  # noqa: PLC0415 - keeps --help quick
    from kb.database import open_writer  # noqa: PLC0415
    from kb.migrate import upgrade_schema  # noqa: PLC0415

    engine = open_engine(database_url)
    upgrade_schema(engine)
    with open_writer(engine) as session, _Progress() as progress:
        report = load_catalogue(session, path, now=datetime.now(UTC), dry_run=dry_run, progress=progress)
    answer = report.as_json()
    if as_json:
        print_json(answer)
    else:
        print_report(answer)
    ctx.exit(EXIT_REFUSED if any(file["refused"] or file["problems"] for file in answer["files"]) else 0)


class _Progress:
    """A bar on standard error, shown only on a terminal and only for loads worth one."""

    WORTH_BYTES = 2_000_000

    def __init__(self) -> None:
        self._bar: Any = None
        self._shown = 0

    def __enter__(self) -> "_Progress":
        return self

    def __exit__(self, *_: object) -> None:
        if self._bar is not None:
            self._bar.__exit__(None, None, None)

    def __call__(self, done: int, total: int) -> None:
        if total < self.WORTH_BYTES:
            return
        if self._bar is None:
            stream = click.get_text_stream("stderr")
            self._bar = click.progressbar(length=total, label="Loading", file=stream).__enter__()
        self._bar.update(done - self._shown)
        self._shown = done


def print_report(answer: dict[str, Any]) -> None:
    """Counts by file, then the refused rows with line, column, value and what to do."""
    columns = {
        "file": "File",
        "added": "Added",
        "changed": "Changed",
        "unchanged": "Unchanged",
        "refused": "Refused",
    }
    print_table(answer["files"], columns)
    problems = [(file["file"], problem) for file in answer["files"] for problem in file["problems"]]
    for file_name, problem in problems[:SHOWN_PROBLEMS]:
        place = ":".join(str(word) for word in (file_name, problem["line"]) if word)
        column = f" {problem['column']}" if problem.get("column") else ""
        click.echo(f"{place}{column}: {problem['message']}", err=True)
    if len(problems) > SHOWN_PROBLEMS:
        click.echo(f"... and {len(problems) - SHOWN_PROBLEMS} more; --json lists them all.", err=True)
    if problems:
        click.echo("Nothing was written; mend these and load again.", err=True)
    elif answer["dry_run"]:
        click.echo("Dry run: nothing was written.")
    elif answer["batch"] is None:
        click.echo("Nothing changed: all of it was loaded before.")
    else:
        click.echo(f"Loaded as batch {answer['batch']}.")
