"""``counterhand low-stock``: what to reorder and why."""

from datetime import date, datetime
from typing import Any

import click

from api.commands.options import add_database_option, add_json_option, open_for_reading, print_json
from api.commands.printing import print_heading, print_paragraph

EXIT_LOW = 10
EPILOG = """\b
Examples:
  counterhand low-stock
  counterhand low-stock --location counter --as-of 2026-01-31
  counterhand low-stock --csv > low.csv
  counterhand low-stock --json-lines | head -n 1
  counterhand low-stock --json > low.json || test $? -eq 10
  counterhand low-stock --asked-for --json-lines

Without --location all places count as one shelf. Demand counts up to the last whole month before the day;
pieces are those of now. Of parts that nobody asked for yet only the number is printed, unless --untried asks
for them; --asked-for leaves them out of every form of answer and of the exit status.

Exit status: 0 nothing low, 10 something low, 1 failed, 2 wrong use."""


class IsoDay(click.ParamType):
    """A day written as 2026-01-31."""

    name = "date"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> date:
        """The day, or a complaint that shows how to write one."""
        if isinstance(value, date):
            return value
        try:
            return datetime.strptime(value, "%Y-%m-%d").date()  # noqa: DTZ007 - a day has no zone
        except ValueError:
            self.fail(f"'{value}' is not a day; write it as 2026-01-31.", param, ctx)


def add_day_option(function: Any) -> Any:
    """``--as-of DATE``."""
    return click.option(
        "--as-of", type=IsoDay(), metavar="DATE", help="The day of asking; today if not given."
    )(function)


def add_location_option(function: Any) -> Any:
    """``--location L``."""
    return click.option("--location", metavar="L", help="This place only; else all places as one shelf.")(
        function
    )


@click.command("low-stock", epilog=EPILOG)
@add_location_option
@add_day_option
@click.option("--untried", is_flag=True, help="List the parts that nobody asked for yet as well.")
@click.option("--asked-for", "is_asked_for", is_flag=True, help="Leave out what nobody asked for yet.")
@click.option("--csv", "as_csv", is_flag=True, help="Print the lines as CSV.")
@click.option("--json-lines", "as_lines", is_flag=True, help="Print one JSON document for each line.")
@add_json_option
@add_database_option
@click.pass_context
def command(
    ctx: click.Context,
    *,
    location: str | None,
    as_of: date | None,
    untried: bool,
    is_asked_for: bool,
    as_csv: bool,
    as_lines: bool,
    as_json: bool,
    database_url: str | None,
) -> None:
    """What to reorder and why; and which open orders to ask about."""
    from kb.lookups.low_stock import LowStockQuestion, list_low_stock  # noqa: PLC0415 - keeps --help quick

    question = LowStockQuestion(as_of or date.today(), location)  # noqa: DTZ011 - the shop's own day
    with open_for_reading(database_url) as session:
        answer = list_low_stock(session, question)
    from api.answers.stock import LINE_COLUMNS, build_csv, shape_low_stock  # noqa: PLC0415

    if is_asked_for:
        answer = answer.leave_out_untried()
    shaped = shape_low_stock(answer)
    if as_json:
        print_json(shaped)
    elif as_lines:
        _print_json_lines(shaped["lines"])
    elif as_csv:
        click.echo(build_csv(shaped["lines"], LINE_COLUMNS), nl=False)
    else:
        _print_answer(shaped, is_whole=untried)
    ctx.exit(EXIT_LOW if shaped["lines"] else 0)


def _print_json_lines(lines: list[dict[str, Any]]) -> None:
    import json  # noqa: PLC0415

    for line in lines:
        click.echo(json.dumps(line, ensure_ascii=False))


def _print_answer(answer: dict[str, Any], *, is_whole: bool) -> None:
    where = f"at {answer['location']}" if answer["location"] else "at all places as one shelf"
    lines = answer["lines"]
    if not lines:
        click.echo(f"Nothing is low {where} on {answer['as_of']}; {answer['judged']} articles looked at.")
        return
    click.echo(f"Low {where} on {answer['as_of']}; {answer['judged']} articles looked at.")
    order = [line for line in lines if line["list"] == "order" and not line["untried"]]
    _print_lines("Order", [line for line in order if not line["needs_person"]])
    _print_lines("Decide by hand", [line for line in order if line["needs_person"]])
    _print_lines("Ask the supplier", [line for line in lines if line["list"] == "chase"])
    if is_whole:
        _print_lines("Nobody asked for these yet", [line for line in lines if line["untried"]])
    elif answer["untried"]:
        print_heading(f"Nobody asked for these yet ({answer['untried']})")
        print_paragraph(
            "There are fewer of them than their part types usually need; whether to stock them is for a "
            "person to decide. List them with --untried.",
            indent="    ",
        )


def _print_lines(heading: str, lines: list[dict[str, Any]]) -> None:
    if lines:
        print_heading(f"{heading} ({len(lines)})")
    for line in lines:
        print_line(line)


def print_line(line: dict[str, Any]) -> None:
    """A line as two sentences: what to do, and why."""
    click.secho(f"{line['maker']} {line['part_number']}", bold=True, nl=False)
    click.echo(f"  from {line['supplier']}" if line["supplier"] else "  nobody offers it")
    print_paragraph(line["text"], indent="    ")
    print_paragraph(line["reason"], indent="    ")
    for words in (line["quicker"], line["supplier_why"]):
        if words:
            print_paragraph(words, indent="    ")
    if line["pooled_with"]:
        print_paragraph(f"Counted together with {' and '.join(line['pooled_with'])}.", indent="    ")
