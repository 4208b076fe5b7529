"""``counterhand alternatives``: what else would do at a position, best first."""

import click

from api.commands.fit import print_alternatives, print_worth_a_look
from api.commands.options import add_database_option, add_json_option, open_for_reading, print_json
from api.commands.printing import print_cautions, print_heading

EPILOG = """\b
Examples:
  counterhand alternatives plover-50-s drive_belt
  counterhand alternatives plover-50-s rollers --json"""


@click.command("alternatives", epilog=EPILOG)
@click.argument("engine")
@click.argument("position")
@add_json_option
@add_database_option
def command(engine: str, position: str, as_json: bool, database_url: str | None) -> None:
    """Parts that would do at POSITION of ENGINE: outcome, then smaller change, then stock, then price."""
    from kb.lookups.alternatives import list_alternatives  # noqa: PLC0415 - keeps --help quick
    from kb.lookups.search.worth_a_look import list_worth_a_look  # noqa: PLC0415
    from kb.rules.fit.shape import shape_alternative  # noqa: PLC0415
    from kb.rules.tools.cautions import cautions_for_position, rank_cautions  # noqa: PLC0415

    with open_for_reading(database_url) as session:
        found = list_alternatives(session, engine, position)
        worth = [item.as_json() for item in list_worth_a_look(session, engine, position)]
    shaped = [shape_alternative(item) for item in found.alternatives]
    hazards = [caution.as_json() for caution in rank_cautions(cautions_for_position(found.position))]
    if as_json:
        print_json(
            {
                "engine": found.engine,
                "position": str(found.position),
                "alternatives": shaped,
                "worth_a_look": worth,
                "hazards": hazards,
            }
        )
        return
    click.echo(f"What would do as {found.position.replace('_', ' ')} of {found.engine}:")
    if shaped:
        print_alternatives(shaped)
    else:
        click.echo("Nothing in the catalogue is known to do.")
    print_worth_a_look(worth)
    if hazards:
        print_heading("Cautions")
        print_cautions(hazards, indent="  - ")
