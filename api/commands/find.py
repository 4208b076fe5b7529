"""``counterhand find``: fuzzy look-up of parts, engines and vehicles."""

from typing import Any

import click

from api.commands.options import add_database_option, add_json_option, open_for_reading, print_json
from api.commands.printing import print_heading, print_paragraph, print_table

EPILOG = """\b
Examples:
  counterhand find "belt 669 18 30"
  counterhand find TW2OO9.8
  counterhand find rollers 16x13 6.5 g

Exit status: 0 answered (also with "nothing sure"), 1 failed, 2 wrong use."""


@click.command("find", epilog=EPILOG)
@click.argument("text", nargs=-1, required=True)
@click.option("--limit", type=click.IntRange(1, 200), default=10, show_default=True, help="Rows wanted.")
@add_json_option
@add_database_option
def command(text: tuple[str, ...], limit: int, as_json: bool, database_url: str | None) -> None:
    """Parts, engines and vehicles that TEXT describes: a number, sizes, any wording, a scanned code."""
    from kb.lookups.search.find import find_matches  # noqa: PLC0415 - keeps --help quick

    with open_for_reading(database_url) as session:
        answer = find_matches(session, " ".join(text), limit).as_json()
    if as_json:
        print_json(answer)
    else:
        _print_answer(answer)


def _print_answer(answer: dict[str, Any]) -> None:
    print_paragraph(f"Read as: {answer['read_as']['text']}")
    print_paragraph(answer["message"])
    if answer["results"]:
        click.echo()
        print_table([_build_row(item) for item in answer["results"]], _COLUMNS)
    for item in answer["results"]:
        if item["differs"] and item["certainty"] != "sure":
            print_paragraph(f"{_name(item)} differs in: {', '.join(item['differs'])}", indent="  ")
    if answer["near_sizes"]:
        print_heading("Near sizes, not equal")
        for item in answer["near_sizes"]:
            print_paragraph(f"{_name(item)}: {item['why']}", indent="  - ")


_COLUMNS = {
    "certainty": "Certainty",
    "name": "What",
    "description": "Description",
    "on_hand": "On hand",
}


def _build_row(item: dict[str, Any]) -> dict[str, Any]:
    return {**item, "name": _name(item), "description": (item["description"] or "")[:60]}


def _name(item: dict[str, Any]) -> str:
    if item["kind"] == "engine":
        return f"engine {item['engine']}"
    return f"{item['maker']} {item['part_number']}"
