"""``counterhand trace``: from what the rider says to the parts to look at first."""

from typing import Any

import click

from api.commands.options import add_database_option, add_json_option, open_for_reading, print_json
from api.commands.printing import CitedSources, print_heading, print_list, print_paragraph

EPILOG = """\b
Examples:
  counterhand trace "slower than it used to be" --engine plover-50-s
  counterhand trace "creeps at the lights" --json"""


@click.command("trace", epilog=EPILOG)
@click.argument("words", nargs=-1, required=True)
@click.option("--engine", metavar="ENGINE", help="The engine: adds its limits, parts, stock and tools.")
@add_json_option
@add_database_option
def command(words: tuple[str, ...], engine: str | None, as_json: bool, database_url: str | None) -> None:
    """Likely causes for what the rider says in WORDS, in the order in which to look at them."""
    from api.answers.trace import shape_trace  # noqa: PLC0415 - keeps --help quick
    from kb.lookups.trace import trace_symptom  # noqa: PLC0415

    with open_for_reading(database_url) as session:
        answer = shape_trace(trace_symptom(session, " ".join(words), engine_code=engine))
    if as_json:
        print_json(answer)
    else:
        _print_answer(answer)


def _print_answer(answer: dict[str, Any]) -> None:
    if not answer["symptoms"]:
        click.echo("No symptom of the catalogue is near these words. Known are:")
        print_list(answer["known_symptoms"])
        return
    click.secho("What it may be", bold=True)
    for item in answer["symptoms"]:
        print_paragraph(f"{item['title']} ({item['certainty']}; heard as '{item['phrase']}')", indent="  - ")
        if item["note"]:
            print_paragraph(item["note"], indent="    ")
    print_heading("Cautions")
    print_list(answer["cautions"])
    print_heading("Look at, in this order")
    cited = CitedSources()
    for cause in answer["causes"]:
        _print_cause(cause, cited)
    if answer["more_count"]:
        click.echo(f"  ... and {answer['more_count']} more")
    cited.print_list()


def _print_cause(item: dict[str, Any], cited: CitedSources) -> None:
    place = f"{item['position'].replace('_', ' ')}: " if item["position"] else ""
    print_paragraph(f"{place}{item['cause']}", indent=f"{item['order']:>3}. ")
    if item["check"]:
        print_paragraph(f"Check: {item['check']}.", indent="     ")
    for limit in item["limits"]:
        print_paragraph(_say_limit(limit, cited), indent="     ")
    part = item["part"]
    if part and part["maker"]:
        places = ", ".join(place["location"] for place in part["places"])
        stock = f"{part['on_hand']} on hand ({places})" if places else "none on hand"
        print_paragraph(f"Part: {part['maker']} {part['part_number']}, {stock}.", indent="     ")
    elif part:
        click.echo("     Part: none is known to do.")
    if item["job"]:
        missing = f"; not owned: {', '.join(item['tools_missing'])}" if item["tools_missing"] else ""
        print_paragraph(f"Bench card: {item['job']}{missing}.", indent="     ")


def _say_limit(limit: dict[str, Any], cited: CitedSources) -> str:
    name = limit["quantity"].replace("_", " ").capitalize()
    if limit["limit"] is None:
        return f"{name}: the limit is not known."
    nominal = "not known" if limit["nominal"] is None else f"{limit['nominal']:g}"
    source = cited.mark(limit["source_text"])
    return f"{name}: new {nominal}, limit {limit['limit']:g} {limit['unit']} {source}".rstrip()
