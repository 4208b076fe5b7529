"""What of a mapping holds for the next file of the same sender, and how its heading line differs."""

from collections.abc import Mapping as AnyMapping
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from importers.columns import IsoDate
from importers.layout import fold_heading
from importers.mapping import Mapping, build_mapping


def keep_for_next_file(mapping: Mapping) -> Mapping:
    """The mapping without what was decided for one file only: days, and which numbers are the same part."""
    days = {column.name for column in mapping.sheet.columns if isinstance(column.cell, IsoDate)}
    values = {name: value for name, value in mapping.values.items() if name not in days}
    return replace(mapping, values=values, duplicates="ask", decisions={})


def read_kept_mapping(said: AnyMapping[str, Any]) -> Mapping:
    """A mapping as it is kept with its import.

    Example:
        >>> read_kept_mapping({"kind": "offers", "columns": None, "form": {"decimal": ","}}).form.decimal
        ','
    """
    form = {name: value for name, value in said.get("form", {}).items() if value is not None}
    return build_mapping({name: value for name, value in said.items() if value is not None} | {"form": form})


def build_headings_key(headings: Sequence[str]) -> str:
    """A heading line as it is compared: folded, in any order.

    Example:
        >>> build_headings_key(["Preis EUR", "Art.-Nr.", ""])
        'art nr|preis eur'
    """
    return "|".join(sorted(filter(None, map(fold_heading, headings))))


def compare_headings(before: Sequence[str], now: Sequence[str]) -> tuple[list[str], list[str]]:
    """Headings that are gone, and those that are new.

    Example:
        >>> compare_headings(["Art.-Nr.", "Preis"], ["art nr", "Preis netto"])
        (['Preis'], ['Preis netto'])
    """
    folded_before, folded_now = set(map(fold_heading, before)), set(map(fold_heading, now))
    gone = [text for text in before if text and fold_heading(text) not in folded_now]
    return gone, [text for text in now if text and fold_heading(text) not in folded_before]
