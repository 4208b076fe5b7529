"""Order of alternatives: outcome, smaller change, more on the shelf, lower price (documented rule)."""

from kb.rules.fit.rank import find_largest_change, rank_alternatives
from kb.rules.fit.values import Alternative, Consequence, PartRef
from kb.terms import Certainty, Outcome


def offer(
    number: str, outcome: str = "fits", change: float | None = 0.0, on_hand: int = 0, price: int | None = None
) -> Alternative:
    return Alternative(
        PartRef("Marlow", number),
        Outcome(outcome),
        Certainty.PROBABLE,
        on_hand,
        "",
        change_percent=change,
        price_minor=price,
    )


def rank(*offers: Alternative) -> list[str]:
    return [item.part.part_number for item in rank_alternatives(offers)]


def test_outcome_comes_before_everything() -> None:
    assert rank(offer("change", "fits_with_change", 0.1, 9, 1), offer("fits", "fits", 2.9)) == [
        "fits",
        "change",
    ]


def test_smaller_change_comes_before_stock() -> None:
    assert rank(offer("far", change=-2.0, on_hand=9), offer("near", change=1.0)) == ["near", "far"]
    assert rank(offer("open", "fits_with_change", None, 9), offer("told", "fits_with_change", 9.0)) == [
        "told",
        "open",
    ]


def test_stock_comes_before_price() -> None:
    assert rank(offer("cheap", price=1), offer("here", on_hand=1, price=99)) == ["here", "cheap"]


def test_lower_price_comes_first_and_an_unknown_one_last() -> None:
    assert rank(offer("open"), offer("dear", price=200), offer("cheap", price=100)) == [
        "cheap",
        "dear",
        "open",
    ]


def test_largest_change_counts_both_ways() -> None:
    assert find_largest_change([Consequence("a", "", 1.0), Consequence("b", "", -3.0)]) == -3.0
    assert find_largest_change([Consequence("a", "")]) is None
