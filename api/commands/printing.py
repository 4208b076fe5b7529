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


def print_cautions(
    cautions: Iterable[dict[str, Any]], *, indent: str = "  ", seen: set[str] | None = None
) -> None:
    """Cautions with their signal word, all four parts.

    Args:
        cautions: hazard, consequence, avoidance and signal word of each.
        indent: what stands before the first line of each.
        seen: cautions that stand whole further up; they are named again by their first sentence, so that
            the steps between them can still be found. Those printed now are added.
    """
    for item in cautions:
        signal = click.style(item["signal"], fg=_COLOUR_OF_SIGNAL[item["signal"]], bold=True)
        text = f"{item['hazard']} {item['consequence']} {item['avoidance']}"
        if seen is not None and text in seen:
            print_paragraph(f"{signal} as above: {item['hazard']}", indent=indent)
            continue
        print_paragraph(f"{signal}: {text}", indent=indent)
        if seen is not None:
            seen.add(text)


class CitedSources:
    """Sources that an answer cites, each once by a letter, and what the letters stand for."""

    def __init__(self) -> None:
        self._texts: list[str] = []

    def mark(self, text: str | None) -> str:
        """The letter of a source in brackets; empty where none is stated."""
        if not text:
            return ""
        if text not in self._texts:
            self._texts.append(text)
        return f"[{_name_letter(self._texts.index(text))}]"

    def print_list(self) -> None:
        """What each letter stands for."""
        if self._texts:
            print_heading("Sources")
        for place, text in enumerate(self._texts):
            print_paragraph(f"{text}.", indent=f"  [{_name_letter(place)}] ")


def _name_letter(place: int) -> str:
    """a to z, then a2 and on."""
    letter = "abcdefghijklmnopqrstuvwxyz"[place % 26]
    return letter if place < 26 else f"{letter}{place // 26 + 1}"


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
        >>> say_price(1240, "JPY")
        '1240 JPY'
    """
    from kb.rules.currency import get_decimals  # noqa: PLC0415 - keeps --help quick

    if price_minor is None:
        return "-"
    decimals = get_decimals(currency or "")
    return f"{price_minor / 10**decimals:.{decimals}f} {currency or ''}".strip()
