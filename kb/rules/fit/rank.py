"""Alternatives, best first: outcome, then smaller consequence, then stock, then price."""

from collections.abc import Iterable
from math import inf

from kb.rules.fit.values import Alternative, Consequence
from kb.terms import Outcome

_ORDER = {Outcome.FITS: 0, Outcome.FITS_WITH_CHANGE: 1, Outcome.NOT_KNOWN: 2, Outcome.DOES_NOT_FIT: 3}


def find_largest_change(consequences: Iterable[Consequence]) -> float | None:
    """The change of largest size among consequences [%], None where none has a number."""
    changes = [item.change_percent for item in consequences if item.change_percent is not None]
    return max(changes, key=abs, default=None)


def rank_alternatives(alternatives: Iterable[Alternative]) -> list[Alternative]:
    """Alternatives in the order in which they should be offered."""
    return sorted(alternatives, key=_build_rank_key)


def _build_rank_key(item: Alternative) -> tuple[int, float, int, float, str, str]:
    unknown = 0.0 if item.outcome is Outcome.FITS else inf
    change = abs(item.change_percent) if item.change_percent is not None else unknown
    price = item.price_minor if item.price_minor is not None else inf
    return (_ORDER[item.outcome], change, -item.on_hand, price, item.part.maker, item.part.part_number)
