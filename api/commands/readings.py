"""``counterhand readings``: the bench book: what was measured on a machine, and how far its parts will go."""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, date, datetime
from typing import Any

import click
from sqlmodel import Session

from api.commands.gauge import print_texts
from api.commands.options import (
    add_database_option,
    add_json_option,
    open_engine,
    open_for_reading,
    print_json,
)
from api.commands.printing import print_heading, print_paragraph, print_table

EPILOG = """\b
Examples:
  counterhand readings add "AB 123" drive_belt top_width 17.4 --engine plover-50-s --km 6200
  counterhand readings add "AB 123" drive_belt top_width --new-part --km 9100
  counterhand readings show "AB 123"
  counterhand readings list --json"""


@click.group("readings", epilog=EPILOG)
def command() -> None:
    """The bench book: measured values of a machine over distance, what is left, when to measure again."""


@command.command("add", epilog=EPILOG)
@click.argument("machine")
@click.argument("position")
@click.argument("quantity")
@click.argument("value", required=False)
@click.option("--km", "odometer", metavar="N", help="Odometer in kilometres.")
@click.option("--on", "taken_on", metavar="DATE", help="Day of the reading, YYYY-MM-DD; default today.")
@click.option("--engine", metavar="ENGINE", help="Engine of the machine; needed the first time.")
@click.option("--new-part", "replaced", is_flag=True, help="A new part was fitted: a new series starts.")
@click.option("--note", metavar="TEXT", help="Anything to remember.")
@add_json_option
@add_database_option
def add(machine: str, **options: Any) -> None:
    """Write down a reading of MACHINE (a plate or another label). The same line twice is written once."""
    from api.answers.readings import shape_book  # noqa: PLC0415 - keeps --help quick
    from api.bench_book import ReadingLine, write_reading  # noqa: PLC0415
    from kb.lookups.readings import read_book  # noqa: PLC0415

    line = ReadingLine(
        position=options["position"],
        quantity=options["quantity"],
        value=options["value"],
        odometer=options["odometer"],
        taken_on=_parse_day(options["taken_on"]),
        replaced=options["replaced"],
        engine=options["engine"],
        note=options["note"],
    )
    with _open_for_writing(options["database_url"]) as session:
        added = write_reading(session, machine, line, now=datetime.now(UTC))
        book = shape_book(read_book(session, machine))
    if options["as_json"]:
        print_json({**book, "added": added})
        return
    click.echo("Written down." if added else "This line stands there already; nothing was added.")
    _print_book(book)


@command.command("show", epilog=EPILOG)
@click.argument("machine")
@add_json_option
@add_database_option
def show(machine: str, **options: Any) -> None:
    """Readings of MACHINE, what is left of each part, and when to measure again."""
    from api.answers.readings import shape_book  # noqa: PLC0415 - keeps --help quick
    from kb.lookups.readings import read_book  # noqa: PLC0415

    with open_for_reading(options["database_url"]) as session:
        book = shape_book(read_book(session, machine))
    if options["as_json"]:
        print_json(book)
    else:
        _print_book(book)


@command.command("list", epilog=EPILOG)
@add_json_option
@add_database_option
def list_all(**options: Any) -> None:
    """Machines of the bench book."""
    from api.answers.readings import shape_machine  # noqa: PLC0415 - keeps --help quick
    from kb.lookups.readings import list_machines  # noqa: PLC0415

    with open_for_reading(options["database_url"]) as session:
        machines = [shape_machine(item) for item in list_machines(session)]
    if options["as_json"]:
        print_json({"machines": machines})
    elif machines:
        print_table(machines, {"machine": "Machine", "engine": "Engine", "note": "Note"})
    else:
        click.echo("The bench book is empty; write a reading down with: counterhand readings add")


@contextmanager
def _open_for_writing(database_url: str | None) -> Iterator[Session]:
    from kb.database import open_writer  # noqa: PLC0415
    from kb.migrate import check_schema  # noqa: PLC0415

    engine = open_engine(database_url)
    check_schema(engine)
    with open_writer(engine) as session:
        yield session
    engine.dispose()


def _parse_day(text: str | None) -> date:
    if text is None:
        return datetime.now().astimezone().date()
    try:
        return date.fromisoformat(text)
    except ValueError as error:
        raise click.UsageError(
            f"Day '{text}' is not a date; write YYYY-MM-DD, for example 2026-01-31."
        ) from error


def _print_book(book: dict[str, Any]) -> None:
    from kb.rules.said_figures import say_odometer  # noqa: PLC0415 - keeps --help quick

    click.secho(f"{book['machine']}: {book['engine']}", bold=True)
    for item in book["series"]:
        place, name = item["position"].replace("_", " "), item["quantity"].replace("_", " ")
        print_heading(f"{place}, {name}")
        print_paragraph(item["text"])
        if item["measure_again_km"] is not None:
            click.echo(f"Measure again at {say_odometer(item['measure_again_km'])} km.")
        if item["measure_again_on"]:
            click.echo(f"Measure again on {item['measure_again_on']}.")
        print_texts("Look again", item["findings"])
        rows = [{**line, "new": "new part" if line["replaced"] else ""} for line in item["readings"]]
        columns = {"taken_on": "Day", "odometer_km": "Odometer km", "value": f"Value {item['unit'] or ''}"}
        print_table(rows, {**columns, "new": "", "note": "Note"})
    click.echo()
    for text in book["cautions"]:
        print_paragraph(text)
