"""``counterhand read``: what a stamped or printed code says, and which codes a pasted note holds."""

from typing import Any

import click

from api.commands.options import add_database_option, add_json_option, print_json
from kb.notation.read import KINDS

EXIT_REFUSED = 7
EPILOG = """\b
Examples:
  counterhand read 743-20-30
  counterhand read "M28x1 LH" --as thread
  counterhand read "belt says 743 20 30, rollers 16x13 7 g"

Exit status: 0 read, or codes found in a longer text; 7 refused."""


@click.command("read", epilog=EPILOG)
@click.argument("text", nargs=-1, required=True)
@click.option("--as", "kind", type=click.Choice(KINDS), default="auto", help="What it is, when known.")
@add_json_option
@add_database_option
@click.pass_context
def command(
    ctx: click.Context, text: tuple[str, ...], kind: str, as_json: bool, database_url: str | None
) -> None:
    """What TEXT says: a belt, a roller, a thread, an engine designation ... or all codes of a note."""
    from kb.rules.match.note import is_note, read_text  # noqa: PLC0415 - keeps --help quick

    answer = read_text(" ".join(text), kind)
    is_read = answer["ok"] or is_note(answer)
    if as_json:
        print_json(answer)
    elif answer["ok"]:
        _print_fields(answer)
    elif is_read:
        _print_codes(answer["codes"])
    else:
        click.echo(f"counterhand: {answer.get('message', answer['reason'])}", err=True)
    ctx.exit(0 if is_read else EXIT_REFUSED)


def _print_fields(answer: dict[str, Any]) -> None:
    for name, value in answer.items():
        if name not in ("ok", "codes"):
            click.echo(f"{name.replace('_', ' ')}: {_say(value)}")


def _print_codes(codes: list[dict[str, Any]]) -> None:
    for code in codes:
        reading = code["reading"]
        if reading["ok"]:
            fields = [
                f"{name.replace('_', ' ')} {_say(value)}"
                for name, value in reading.items()
                if name not in ("ok", "kind")
            ]
            click.echo(f"'{code['text']}': {code['kind'].replace('_', ' ')}; {', '.join(fields)}")
        else:
            click.echo(f"'{code['text']}': not read; {reading.get('message', reading['reason'])}")


def _say(value: Any) -> str:
    return ", ".join(value) if isinstance(value, list) else str(value)
