"""The command line: one group whose commands are imported only when they are called.

Exit statuses: 0 done, 1 failed, 2 wrong use, and the statuses of their own that commands document.
"""

import gc
import importlib
import os
import sys
from contextlib import suppress
from typing import NoReturn

import click

from kb.errors import KbError

# Command → module, and its line in the overview. A command is imported only when it runs.
COMMANDS = {
    "fit": ("api.commands.fit", "Does this part fit this engine?"),
    "card": ("api.commands.card", "The bench card: tools, torques, parts, steps, cautions."),
    "gauge": ("api.commands.gauge", "May this worn part go back?"),
    "tell-apart": ("api.commands.tell_apart", "Which engine is it, and what to measure next."),
    "trace": ("api.commands.trace", "From what the rider says to the parts to look at first."),
    "readings": ("api.commands.readings", "The bench book: wear over distance, when to measure again."),
    "rollers": ("api.commands.rollers", "May these odd rollers go in, and in which order?"),
    "alternatives": ("api.commands.alternatives", "What else would do, best first."),
    "low-stock": ("api.commands.low_stock", "What to reorder and why."),
    "order-draft": ("api.commands.order_draft", "Order proposals by supplier."),
    "backtest": ("api.commands.backtest", "What the reorder method would have done on your own past."),
    "import": ("api.commands.import_", "Load a catalogue folder or a sheet."),
    "undo-import": ("api.commands.undo_import", "Take one import back."),
    "serve": ("api.commands.serve", "Serve the pages and the API."),
    "demo": ("api.commands.demo", "Make the demo database and serve it."),
    "check": ("api.commands.check", "Verify the database."),
    "backup": ("api.commands.backup", "Copy the database, also while it is served."),
    "restore": ("api.commands.restore", "Put a backup in place."),
    "key": ("api.commands.key", "Access keys: add, list, revoke."),
    "find": ("api.commands.find", "Find parts, engines and vehicles in any wording."),
    "read": ("api.commands.read", "What a stamped or printed code says."),
}


class LazyGroup(click.Group):
    """A group that knows its commands by name and imports only the one called."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Names in the order of the table above."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """The command, imported now."""
        if cmd_name not in COMMANDS:
            return None
        command: click.Command = importlib.import_module(COMMANDS[cmd_name][0]).command
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Overview without importing any command."""
        with formatter.section("Commands"):
            formatter.write_dl([(name, text) for name, (_, text) in COMMANDS.items()])

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """As usual, but an unknown command is answered with the nearest."""
        name = args[0]
        if name not in COMMANDS and not name.startswith("-"):
            from kb.rules.nearest import format_nearest  # noqa: PLC0415 - only on a mistake

            raise click.UsageError(f"There is no command '{name}'; {format_nearest(name, COMMANDS)}.", ctx)
        return super().resolve_command(ctx, args)


@click.command(
    cls=LazyGroup, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100}
)
@click.version_option(package_name="counterhand")
@click.option("--db", "database_url", metavar="URL", help="The command's --db, said before it.")
@click.option("--json", "as_json", is_flag=True, help="The command's --json, said before it.")
def group(**_said: object) -> None:
    """Counterhand: does this part fit this engine?

    Answers for the parts counter and the bench of a scooter workshop, with numbers and with the source of
    each number. Values are a guide; the maker's manual for the machine, local rules and licensed practice
    decide.
    """


def main(arguments: list[str] | None = None) -> NoReturn:
    """Run the command line and exit; errors go to standard error as one line.

    Args:
        arguments: words of the command line, as another program hands them over; None: those of the process.
    """
    # Imports make many objects and drop none: collecting less often saves a tenth of a short command's time.
    gc.set_threshold(100_000, 20, 20)
    status = _run(arguments)
    if arguments is None:
        _leave(status)
    sys.exit(status)


def _run(arguments: list[str] | None) -> int:
    """Exit status of the command."""
    status = 1
    try:
        status = group.main(args=arguments, prog_name="counterhand", standalone_mode=False) or 0
    except click.exceptions.NoArgsIsHelpError as error:
        click.echo(error.format_message())
        status = 2
    except click.UsageError as error:
        click.echo(f"counterhand: {_join(error.format_message())} See: {_name_help(error)}", err=True)
        status = 2
    except click.ClickException as error:
        click.echo(f"counterhand: {_join(error.format_message())}", err=True)
    except click.exceptions.Exit as error:
        status = error.exit_code
    except (click.Abort, KeyboardInterrupt):
        click.echo("counterhand: stopped; nothing was left half-written.", err=True)
        status = 130
    except KbError as error:
        click.echo(f"counterhand: {_join(str(error))}", err=True)
    return status


def _leave(status: int) -> NoReturn:
    """End the process without taking its modules apart, which costs a fifth of a short command (measured).

    Databases were closed with the command; what was printed is sent before.
    """
    for stream in (sys.stdout, sys.stderr):
        with suppress(BrokenPipeError):  # the reader of a pipe may have left
            stream.flush()
    os._exit(status)


def _join(message: str) -> str:
    """A message as one line."""
    return " ".join(message.split())


def _name_help(error: click.UsageError) -> str:
    path = error.ctx.command_path if error.ctx else "counterhand"
    return f"{path} --help"
