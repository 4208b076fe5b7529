"""Whether a vehicle that somebody names, perhaps only in part, is one that an engine is recorded in.

A person meets it at the counter: "some Heron, about 2014". All words must stand somewhere in make or model;
a year must lie within the years of the row, an open end counting as still made or made from the start.
A list of vehicles is never complete: an engine ruled out by its vehicles may sit in one that nobody recorded.

Source: judgement of this project.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from kb.rules.match.normal import fold_text


@dataclass(frozen=True, slots=True)
class VehicleRow:
    """A make and model with its years, as recorded."""

    make: str
    model: str
    year_from: int | None = None
    year_to: int | None = None

    def as_text(self) -> str:
        """The vehicle in one phrase.

        Example:
            >>> VehicleRow("Oskarrel", "Heron", 2011, None).as_text()
            'Oskarrel Heron (2011 on)'
        """
        if self.year_from is None and self.year_to is None:
            return f"{self.make} {self.model}"
        if self.year_to is None:
            return f"{self.make} {self.model} ({self.year_from} on)"
        return f"{self.make} {self.model} ({self.year_from or 'up'} to {self.year_to})"


@dataclass(frozen=True, slots=True)
class VehicleQuestion:
    """What is known of a vehicle; texts may be partial, in any order of words."""

    make: str = ""
    model: str = ""
    text: str = ""
    year: int | None = None

    @property
    def is_empty(self) -> bool:
        """Whether nothing is asked."""
        return not (self.make or self.model or self.text or self.year is not None)


def find_vehicle(rows: Sequence[VehicleRow], question: VehicleQuestion) -> VehicleRow | None:
    """The first row that the question describes, None when none does.

    Example:
        >>> rows = [VehicleRow("Oskarrel", "Heron 125", 2011, 2014)]
        >>> find_vehicle(rows, VehicleQuestion(text="heron")) is rows[0]
        True
        >>> find_vehicle(rows, VehicleQuestion(text="heron", year=2016)) is None
        True
    """
    return next((row for row in rows if _is_described(row, question)), None)


def _is_described(row: VehicleRow, question: VehicleQuestion) -> bool:
    parts = (
        (question.make, row.make),
        (question.model, row.model),
        (question.text, f"{row.make} {row.model}"),
    )
    if not all(_holds_all(asked, told) for asked, told in parts):
        return False
    year = question.year
    return year is None or (row.year_from or year) <= year <= (row.year_to or year)


def _holds_all(asked: str, told: str) -> bool:
    folded = fold_text(told)
    return all(word in folded for word in fold_text(asked).split())
