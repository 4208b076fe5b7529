"""``counterhand gauge``: may this worn part go back?"""

from typing import Any

import click

from api.commands.options import add_database_option, add_json_option, open_for_reading, print_json
from api.commands.printing import print_heading, print_list, print_paragraph, print_table

STATE_STYLE = {
    "good": ("[good]", "green"),
    "near_limit": ("[near the limit]", "yellow"),
    "replace": ("[replace]", "red"),
    "not_known": ("[not known]", "cyan"),
}

EPILOG = """\b
Examples:
  counterhand gauge plover-50-s drive_belt top_width 16.6
  counterhand gauge plover-50-s contra_spring free_length "104,5 mm" --json"""


@click.command("gauge", epilog=EPILOG)
@click.argument("engine")
@click.argument("position")
@click.argument("quantity")
@click.argument("value")
@add_json_option
@add_database_option
def command(
    engine: str, position: str, quantity: str, value: str, as_json: bool, database_url: str | None
) -> None:
    """Hold VALUE of QUANTITY at POSITION of ENGINE against its limit of wear."""
    from api.answers.gauge import shape_gauge  # noqa: PLC0415 - keeps --help quick
    from kb.errors import BadInput  # noqa: PLC0415
    from kb.lookups.gauge import GaugeQuestion, gauge_part  # noqa: PLC0415

    with open_for_reading(database_url) as session:
        try:
            answer = shape_gauge(gauge_part(session, GaugeQuestion(engine, position, quantity, value)))
        except BadInput as error:
            raise click.UsageError(str(error)) from error
    if as_json:
        print_json(answer)
    else:
        _print_answer(answer)


def mark_state(state: str) -> str:
    """The state as a word in brackets, coloured."""
    word, colour = STATE_STYLE[state]
    return click.style(word, fg=colour, bold=True)


def _print_answer(answer: dict[str, Any]) -> None:
    from kb.rules.said_figures import say_used  # noqa: PLC0415 - keeps --help quick

    click.echo(mark_state(answer["state"]))
    print_paragraph(answer["text"])
    if answer["used_percent"] is not None and answer["state"] != "not_known":
        print_paragraph(f"{say_used(answer['used_percent'])} of the wear allowance is used up.")
    if answer["meaning"]:
        print_paragraph(answer["meaning"])
    if answer["source_text"]:
        what = "Size when new" if answer["limit"] is None else "Limit"
        print_paragraph(f"{what} by {answer['source_text']}.")
    print_texts("Look again", answer["findings"])
    print_texts("What the wear changes", answer["consequences"])
    print_texts("Measure or look up next", answer["measure_next"])
    if len(answer["by_source"]) > 1:
        print_heading("What each source says")
        rows = [
            {**item, "state": item["state"].replace("_", " "), "source": item["source"]["text"]}
            for item in answer["by_source"]
        ]
        print_table(rows, {"state": "State", "nominal": "When new", "limit": "Limit", "source": "Source"})
    print_heading("Cautions")
    print_list(answer["cautions"])


def print_texts(heading: str, items: list[dict[str, Any]]) -> None:
    """The texts of a list of findings under a heading; nothing when there are none."""
    if items:
        print_heading(heading)
        print_list(item["text"] for item in items)
