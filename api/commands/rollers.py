"""``counterhand rollers``: may these odd rollers go in, and in which order?"""

from typing import Any

import click

from api.commands.options import add_database_option, add_json_option, open_for_reading, print_json
from api.commands.printing import print_cautions, print_heading, print_list, print_paragraph

EPILOG = """\b
Examples:
  counterhand rollers plover-50-s 7 6.5 7 6.5 7 6.5
  counterhand rollers plover-50-s 7,1 6,9 7 7 6,5 7 --radius 34 --json"""

_STYLE = {
    "fine": ("[fine]", "green"),
    "note": ("[slightly out of balance]", "yellow"),
    "refused": ("[refused]", "red"),
    "not_known": ("[not known]", "cyan"),
}


@click.command("rollers", epilog=EPILOG)
@click.argument("engine")
@click.argument("masses", nargs=-1, required=True)
@click.option("--radius", metavar="MM", help="Radius of the roller centres from the shaft's centre.")
@add_json_option
@add_database_option
def command(engine: str, masses: tuple[str, ...], **options: Any) -> None:
    """Mean mass, shift speed and best order of weighed rollers (MASSES in grams) for ENGINE."""
    from api.answers.rollers import shape_rollers  # noqa: PLC0415 - keeps --help quick
    from kb.lookups.roller_set import judge_rollers  # noqa: PLC0415
    from kb.rules.reading_value import parse_reading_value  # noqa: PLC0415

    weighed = [parse_reading_value(mass, unit="g", quantity="mass") for mass in masses]
    radius = options["radius"]
    radius_mm = parse_reading_value(radius, unit="mm", quantity="radius") if radius else None
    with open_for_reading(options["database_url"]) as session:
        answer = shape_rollers(*judge_rollers(session, engine, weighed, radius_mm=radius_mm))
    if options["as_json"]:
        print_json(answer)
    else:
        _print_answer(answer)


def _print_answer(answer: dict[str, Any]) -> None:
    word, colour = _STYLE[answer["state"]]
    click.secho(word, fg=colour, bold=True)
    print_paragraph(answer["text"])
    print_list(answer["reasons"])
    if answer["force_n"]:
        force, speed = answer["force_n"], answer["force_rpm"]
        print_paragraph(f"At {speed:g} r/min it pulls with {force:.1f} N round and round.")
    print_heading("Order round the circle")
    slots = zip(answer["order"], answer["order_masses_g"], strict=True)
    for slot, (roller, mass) in enumerate(slots, start=1):
        click.echo(f"  slot {slot}: roller {roller}, {mass:g} g")
    print_heading("Cautions")
    print_cautions(answer["hazards"])
