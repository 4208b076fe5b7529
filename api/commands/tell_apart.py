"""``counterhand tell-apart``: which engine is it, and what to measure next?"""

from typing import Any

import click

from api.commands.options import add_database_option, add_json_option, open_for_reading, print_json
from api.commands.printing import print_heading, print_list, print_paragraph

SHOWN = 20

EPILOG = """\b
Examples:
  counterhand tell-apart plover-50-s plover-50-l
  counterhand tell-apart "stamped_designation=1E38*" wheel_diameter=12
  counterhand tell-apart make=Sedgeholm year=2014 --position drive_belt --json

Quantities are the names of the features sheet (case_length, wheel_diameter, boss_diameter, ...),
bore, stroke, strokes, cooling, belt_length, belt_top_width, roller_diameter, crank_nut_across_flats,
vehicle, make, model, year. In a word * stands for any characters and ? for one."""


@click.command("tell-apart", epilog=EPILOG)
@click.argument("known", nargs=-1, metavar="[ENGINE ...] [QUANTITY=VALUE ...]")
@click.option("--position", metavar="P", help="The part that it is about: says whether the doubt matters.")
@add_json_option
@add_database_option
def command(known: tuple[str, ...], position: str | None, as_json: bool, database_url: str | None) -> None:
    """Which engines are still possible, which are ruled out by what, and which measurement to take next."""
    from api.answers.tell_apart import shape_tell_apart  # noqa: PLC0415 - keeps --help quick
    from kb.errors import BadInput  # noqa: PLC0415
    from kb.lookups.tell_apart import TellApartQuestion, tell_engines_apart  # noqa: PLC0415
    from kb.rules.tell_apart_facts import split_fact  # noqa: PLC0415

    try:
        question = TellApartQuestion(
            engines=tuple(word for word in known if "=" not in word),
            facts=tuple(split_fact(word) for word in known if "=" in word),
            position=position,
        )
        with open_for_reading(database_url) as session:
            answer = shape_tell_apart(tell_engines_apart(session, question))
    except BadInput as error:
        raise click.UsageError(str(error)) from error
    if as_json:
        print_json(answer)
    else:
        _print_answer(answer)


def _print_answer(answer: dict[str, Any]) -> None:
    if answer["notes"]:  # first: a reading that counts for nothing is missed below a long list
        click.secho("Notes", bold=True)
        print_list(answer["notes"])
        click.echo()
    click.secho(f"Still possible: {answer['possible_count']}", bold=True)
    for item in answer["possible"][:SHOWN]:
        agrees = f" agrees: {_say_all(item['agrees'])}." if item["agrees"] else ""
        unknown = f" nothing to compare for: {_say_all(item['unknown'])}." if item["unknown"] else ""
        print_paragraph(f"{item['engine']}{':' if agrees or unknown else ''}{agrees}{unknown}", indent="  + ")
    _print_rest(answer["possible_count"])
    if answer["ruled_out"]:
        print_heading(f"Ruled out: {answer['ruled_out_count']}")
        print_list(_say_ruled_out(item) for item in answer["ruled_out"][:SHOWN])
        _print_rest(answer["ruled_out_count"])
    if answer["measure_next"]:
        print_heading("Measure next")
        _print_measurement(answer["measure_next"][0])
        others = [item["quantity"] for item in answer["measure_next"][1:]]
        if others:
            print_paragraph(f"Or: {_say_all(others)}.", indent="  ")
    if answer["inseparable"]:
        print_heading("Can't be told apart by what is recorded")
        print_list(item["text"] for item in answer["inseparable"])


def _print_rest(count: int) -> None:
    if count > SHOWN:
        click.echo(f"  ... and {count - SHOWN} more (all with --json)")


def _say_all(names: list[str]) -> str:
    return ", ".join(name.replace("_", " ") for name in names)


def _say(value: Any, unit: str | None) -> str:
    number = f"{value:g}" if isinstance(value, float) else str(value)
    return f"{number} {unit}" if unit and unit != "count" else number


def _say_ruled_out(item: dict[str, Any]) -> str:
    told, asked = _say(item["value"], item["unit"]), _say(item["asked"], item["unit"])
    return f"{item['engine']}: {item['by'].replace('_', ' ')} is {told}, not {asked}"


def _print_measurement(item: dict[str, Any]) -> None:
    click.secho(f"  {item['question']}", bold=True)
    if item["how"]:
        print_paragraph(item["how"], indent="    ")
    print_list(
        f"{_say(value, item['unit'])}: {', '.join(engines[:8])}{' ...' if len(engines) > 8 else ''}"
        for value, engines in list(item["splits"].items())[:SHOWN]
    )
    if item["not_recorded"]:
        print_paragraph(f"Not recorded for: {', '.join(item['not_recorded'][:8])}.", indent="    ")
