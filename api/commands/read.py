"""``counterhand read``: what a stamped or printed code says."""

import json

import click

from api.commands.options import add_database_option, add_json_option
from kb.notation.read import KINDS, read_as_json

EXIT_REFUSED = 7
EPILOG = """\b
Examples:
  counterhand read 743-20-30
  counterhand read "M28x1 LH" --as thread

Exit status: 0 read, 7 refused."""


@click.command("read", epilog=EPILOG)
@click.argument("text", nargs=-1, required=True)
@click.option("--as", "kind", type=click.Choice(KINDS), default="auto", help="What it is, when known.")
@add_json_option
@add_database_option
@click.pass_context
def command(
    ctx: click.Context, text: tuple[str, ...], kind: str, as_json: bool, database_url: str | None
) -> None:
    """What TEXT says: a belt, a roller, a thread, an engine designation, a tyre, a torque ..."""
    answer = read_as_json(" ".join(text), kind)
    if as_json:
        click.echo(json.dumps(answer, ensure_ascii=False))
    elif answer["ok"]:
        for name, value in answer.items():
            if name != "ok":
                click.echo(
                    f"{name.replace('_', ' ')}: {', '.join(value) if isinstance(value, list) else value}"
                )
    else:
        click.echo(f"counterhand: {answer.get('message', answer['reason'])}", err=True)
    ctx.exit(0 if answer["ok"] else EXIT_REFUSED)
