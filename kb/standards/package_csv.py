"""Rows of a table that lies beside this code in the package. The only file reading in this room."""

import csv
import io
from importlib import resources


def read_package_rows(name: str) -> tuple[dict[str, str], ...]:
    """Rows of the named CSV table of this package, as text by column name."""
    text = (resources.files("kb.standards") / name).read_text(encoding="utf-8")
    return tuple(csv.DictReader(io.StringIO(text)))


def read_package_bytes(name: str) -> bytes:
    """The named file of this package as it is."""
    return (resources.files("kb.standards") / name).read_bytes()


def read_optional_number(cell: str) -> float | None:
    """Number in a cell, None for an empty one: an empty cell is not known.

    Example:
        >>> read_optional_number("5.02"), read_optional_number("")
        (5.02, None)
    """
    return float(cell) if cell else None
