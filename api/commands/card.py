"""``counterhand card``: the bench card of one engine and one job."""

from typing import Any

import click

from api.commands.options import add_database_option, add_json_option, open_for_reading, print_json
from api.commands.printing import (
    CitedSources,
    print_cautions,
    print_heading,
    print_list,
    print_paragraph,
    print_table,
)

EPILOG = """\b
Examples:
  counterhand card plover-50-s belt_service
  counterhand card plover-50-s clutch --json"""


@click.command("card", epilog=EPILOG)
@click.argument("engine")
@click.argument("job")
@add_json_option
@add_database_option
def command(engine: str, job: str, as_json: bool, database_url: str | None) -> None:
    """Fasteners, tools, parts, limits and steps for JOB on ENGINE, and what is missing."""
    from api.answers.card import shape_card  # noqa: PLC0415 - keeps --help quick
    from kb.lookups.card import build_card  # noqa: PLC0415

    with open_for_reading(database_url) as session:
        answer = shape_card(build_card(session, engine, job))
    if as_json:
        print_json(answer)
    else:
        _print_card(answer)


def _print_card(card: dict[str, Any]) -> None:
    name = f" ({card['engine_name']})" if card["engine_name"] else ""
    click.secho(f"{card['title'] or card['job']}: {card['engine']}{name}", bold=True)
    _print_part("Missing: settle this first", card["missing"])
    _print_part("Sources differ", card["disagreements"])
    _print_part("Look at these torques again", card["warnings"])
    seen: set[str] = set()
    cited = CitedSources()
    print_heading("Cautions for the whole job")
    print_paragraph(card["cautions"][0])
    print_cautions(card["hazards"], seen=seen)
    print_heading("Fasteners")
    for item in card["fasteners"]:
        _print_fastener(item, cited, seen=seen)
    print_heading("Tools")
    print_list(_say_tool(item) for item in card["tools"])
    print_heading("Parts to have ready")
    print_list(_say_part(item) for item in card["parts"])
    print_list(_say_consumable(item) for item in card["consumables"])
    if card["limits"]:
        print_heading("Limits to gauge")
        columns = {"position": "Position", "quantity": "Quantity", "nominal": "When new"}
        rows = [_say_limit(item, cited) for item in card["limits"]]
        print_table(rows, {**columns, "limit": "Limit", "unit": "Unit", "source": "Source"})
    print_heading("Steps")
    for step in card["steps"]:
        _print_step(step, cited, seen=seen)
    cited.print_list()


def _print_part(heading: str, texts: list[str]) -> None:
    if texts:
        print_heading(heading)
        print_list(texts)


def _print_fastener(item: dict[str, Any], cited: CitedSources, *, seen: set[str]) -> None:
    size = f"{item['across_flats_mm']:g} mm" if item["across_flats_mm"] is not None else "size not known"
    count = f"{item['count']} x " if item["count"] and item["count"] > 1 else ""
    words = [
        f"{count}{item['thread'] or 'thread not known'}",
        _say_hand(item),
        f"{(item['drive'] or 'head not known').replace('_', ' ')} {size}",
    ]
    click.echo()
    click.secho(f"  {item['position'].replace('_', ' ')}", bold=True, nl=False)
    click.echo(f": {', '.join(words)}")
    print_cautions(item["cautions"], indent="    ! ", seen=seen)
    verified = "" if item["verified"] else " Unverified." if item["torque_nm"] is not None else ""
    differs = " Another source differs." if item["differs"] else ""
    source = cited.mark(item["source_detail"]["text"])
    print_paragraph(
        f"{item['torque_text']} {source}.{verified}{differs} {_say_condition(item['condition'])}.",
        indent="    ",
    )
    if item["generic_limit"]:
        print_paragraph(item["generic_limit"]["text"], indent="    ")
    for label, text in (("Locking", item["locking"]), ("Holding", item["holding"])):
        if text:
            print_paragraph(f"{label}: {text}.", indent="    ")


def _say_condition(condition: str) -> str:
    """Whether the torque holds for dry or oiled threads, as far as its source says."""
    if condition == "unknown":
        return "The source does not say whether it holds for dry or oiled threads"
    return f"It holds for these threads: {condition.replace('_', ' ')}"


def _say_limit(item: dict[str, Any], cited: CitedSources) -> dict[str, Any]:
    words = {name: item[name].replace("_", " ") for name in ("position", "quantity")}
    return {**item, **words, "source": cited.mark(item["source_text"])}


def _say_hand(item: dict[str, Any]) -> str:
    return {"right": "right-hand", "left": "LEFT-HAND", "unknown": "hand not known"}[item["hand"]]


def _say_tool(item: dict[str, Any]) -> str:
    state = "owned" if item["owned"] else "NOT OWNED"
    use = ", ".join(position.replace("_", " ") for position in item["for"])
    purpose = f" for {use}" if use else ""
    return f"{item['tool']}{purpose} [{state}]: {item['text']}"


def _say_part(item: dict[str, Any]) -> str:
    position = item["position"].replace("_", " ")
    if item["maker"] is None:
        return f"{position}: no part is known to do"
    places = ", ".join(f"{place['location']} {place['on_hand']}" for place in item["places"])
    outcome = item["outcome"].replace("_", " ")
    stock = f"{item['on_hand']} on hand ({places})" if places else "none on hand"
    return f"{position}: {item['needed']} x {item['maker']} {item['part_number']}, {outcome}, {stock}"


def _say_consumable(item: dict[str, Any]) -> str:
    articles = ", ".join(
        f"{article['maker']} {article['part_number']}, {article['on_hand']} on hand"
        for article in item["articles"]
    )
    return f"{item['consumable']}: {articles or 'no article of that name in the catalogue'}"


def _print_step(step: dict[str, Any], cited: CitedSources, *, seen: set[str]) -> None:
    click.echo()
    print_cautions(step["cautions"], indent="    ! ", seen=seen)
    print_paragraph(step["text"], indent=f"{step['step']:>3}. ")
    for figure in step["figures"]:
        place = figure["position"].replace("_", " ")
        verified = "" if figure["verified"] else ", unverified"
        source = cited.mark(figure["source_text"])
        print_paragraph(f"{place}: {figure['text']} {source}{verified}", indent="     = ")
