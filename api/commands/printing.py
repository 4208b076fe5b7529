"""How answers look on a terminal; click drops the colours by itself in a pipe."""

import shutil
import textwrap
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

import click

_OUTCOME_STYLE = {
    "fits": ("[fits]", "green"),
    "fits_with_change": ("[fits with change]", "yellow"),
    "does_not_fit": ("[does not fit]", "red"),
    "not_known": ("[not known]", "cyan"),
}

_COLOUR_OF_SIGNAL = {"DANGER": "red", "WARNING": "red", "CAUTION": "yellow", "NOTICE": "blue"}


def get_width() -> int:
    """Columns to use."""
    return min(max(shutil.get_terminal_size((100, 24)).columns, 40), 110)


def mark_outcome(outcome: str) -> str:
    """The outcome as a word in brackets, coloured."""
    word, colour = _OUTCOME_STYLE.get(outcome, (f"[{outcome}]", "white"))
    return click.style(word, fg=colour, bold=True)


def print_paragraph(text: str, *, indent: str = "") -> None:
    """Text wrapped to the terminal."""
    click.echo(
        textwrap.fill(text, width=get_width(), initial_indent=indent, subsequent_indent=" " * len(indent))
    )


def print_heading(text: str) -> None:
    """A heading with an empty line before it."""
    click.echo()
    click.secho(text, bold=True)


def print_list(texts: Iterable[str]) -> None:
    """One item per line, wrapped."""
    for text in texts:
        print_paragraph(text, indent="  - ")


def print_cautions(cautions: Iterable[dict[str, Any]], *, indent: str = "  ") -> None:
    """Cautions with their signal word, all four parts."""
    for item in cautions:
        signal = click.style(item["signal"], fg=_COLOUR_OF_SIGNAL[item["signal"]], bold=True)
        text = f"{item['hazard']} {item['consequence']} {item['avoidance']}"
        print_paragraph(f"{signal}: {text}", indent=indent)


def print_table(rows: Sequence[Mapping[str, Any]], columns: Mapping[str, str]) -> None:
    """Rows under headings; columns as wide as their widest cell. ``columns``: key → heading."""
    cells = [[_say(row.get(key)) for key in columns] for row in rows]
    widths = [
        max(len(heading), *(len(row[place]) for row in cells)) if cells else len(heading)
        for place, heading in enumerate(columns.values())
    ]
    line = "  ".join(heading.ljust(width) for heading, width in zip(columns.values(), widths, strict=True))
    click.secho(line.rstrip(), underline=True)
    for row in cells:
        click.echo("  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip())


def _say(value: Any) -> str:
    if value is None:
        return "-"
    return f"{value:g}" if isinstance(value, float) else str(value)


def say_price(price_minor: int | None, currency: str | None) -> str:
    """A price with its currency, or a dash.

    Example:
        >>> say_price(1240, "EUR")
        '12.40 EUR'
    """
    if price_minor is None:
        return "-"
    return f"{price_minor / 100:.2f} {currency or ''}".strip()
