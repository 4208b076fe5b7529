"""``counterhand fit``: does this part fit this engine?"""

from typing import Any

import click

from api.commands.options import add_database_option, add_json_option, open_for_reading, print_json
from api.commands.printing import (
    CitedSources,
    mark_outcome,
    print_heading,
    print_list,
    print_paragraph,
    print_table,
    say_price,
)

EXIT_STATUS = {"fits": 0, "fits_with_change": 4, "does_not_fit": 5, "not_known": 6}

EPILOG = """\b
Examples:
  counterhand fit plover-50-s 669-18-30
  counterhand fit plover-50-s "16x13 6.5 g x 6" --position rollers
  counterhand fit plover-50-s MAKER PARTNUMBER --json

Exit status: 0 fits, 4 fits with change, 5 does not fit, 6 not known, 1 failed, 2 wrong use."""


@click.command("fit", epilog=EPILOG)
@click.argument("engine")
@click.argument("asked", nargs=-1, required=True)
@click.option("--position", metavar="P", help="Where it is to sit, such as drive_belt or crank_nut.")
@add_json_option
@add_database_option
@click.pass_context
def command(
    ctx: click.Context,
    engine: str,
    asked: tuple[str, ...],
    position: str | None,
    as_json: bool,
    database_url: str | None,
) -> None:
    """Does ASKED (maker and part number, a size, or free text) fit ENGINE?"""
    from kb.lookups.fit import FitQuestion, does_part_fit  # noqa: PLC0415 - keeps --help quick
    from kb.lookups.search.worth_a_look import list_worth_a_look_beside  # noqa: PLC0415
    from kb.lookups.sources import find_sources_by_name  # noqa: PLC0415
    from kb.rules.fit.sentence import say_verdict  # noqa: PLC0415
    from kb.rules.fit.shape import shape_verdict  # noqa: PLC0415
    from kb.rules.tools.cautions import cautions_for_position, rank_cautions  # noqa: PLC0415

    with open_for_reading(database_url) as session:
        verdict = does_part_fit(session, FitQuestion(engine, " ".join(asked), position))
        worth = [item.as_json() for item in list_worth_a_look_beside(session, verdict)]
        names = {reason.source for reason in verdict.reasons if reason.source}
        names |= {item.source.name for item in verdict.evidence if item.source}
        sources = {name: found.as_text() for name, found in find_sources_by_name(session, names).items()}
    cautions = rank_cautions(cautions_for_position(verdict.position)) if verdict.position else ()
    answer = {
        **shape_verdict(verdict),
        "worth_a_look": worth,
        "hazards": [caution.as_json() for caution in cautions],
    }
    if as_json:
        print_json(answer)
    else:
        click.echo(mark_outcome(answer["outcome"]))
        print_paragraph(say_verdict(verdict))
        _print_answer(answer, sources)
    ctx.exit(EXIT_STATUS[answer["outcome"]])


def _print_answer(answer: dict[str, Any], sources: dict[str, str]) -> None:
    cited = CitedSources()
    _print_texts("What changes", answer["consequences"])
    _print_texts("Measure next", answer["measure_next"])
    print_heading("Reasons")
    for reason in answer["reasons"]:
        source = cited.mark(sources.get(reason["source"], reason["source"]))
        print_paragraph(f"{reason['text']} {source}".rstrip(), indent=f"  {_sign(reason['outcome'])} ")
    print_heading("Evidence")
    for item in answer["evidence"]:
        # A record names its source in words; a comparison rests on that of the need.
        name = None if item["kind"] == "record" else item["source"]
        print_paragraph(f"{item['text']} {cited.mark(sources.get(name, name))}".rstrip(), indent="  - ")
    if answer["alternatives"]:
        print_heading("What else would do")
        print_alternatives(answer["alternatives"])
    print_worth_a_look(answer["worth_a_look"])
    print_heading("Cautions")
    print_list(answer["cautions"])
    cited.print_list()


def _sign(outcome: str) -> str:
    return {"fits": "+", "fits_with_change": "~", "does_not_fit": "x", "not_known": "?"}[outcome]


def _print_texts(heading: str, items: list[dict[str, Any]]) -> None:
    if items:
        print_heading(heading)
        print_list(item["text"] for item in items)


def print_worth_a_look(items: list[dict[str, Any]]) -> None:
    """Parts like those recorded as fitting, under a heading that says that they are not judged."""
    if items:
        print_heading("Worth a look, not known to fit")
        print_list(f"{item['maker']} {item['part_number']}: {item['why']}" for item in items)


def print_alternatives(alternatives: list[dict[str, Any]]) -> None:
    """Alternatives as a table, the reasons below each other in the order of the rows."""
    rows = [
        {
            **item,
            "outcome": item["outcome"].replace("_", " "),
            "change": _say_change(item["change_percent"]),
            "price": say_price(item["price_minor"], item["currency"]),
        }
        for item in alternatives
    ]
    columns = {
        "maker": "Maker",
        "part_number": "Part number",
        "outcome": "Outcome",
        "change": "Change",
        "on_hand": "On hand",
        "price": "Price",
    }
    print_table(rows, columns)


def _say_change(change_percent: float | None) -> str:
    if change_percent is None:
        return "-"
    return "none" if abs(change_percent) < 0.05 else f"{change_percent:+.1f} %"
