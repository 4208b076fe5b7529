"""Every figure of a stock line with the sentence that explains it."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from kb.lookups.judgement import LevelByHand


@dataclass(frozen=True, slots=True)
class Figure:
    """A figure, its value as shown, and where it comes from."""

    label: str
    value: str
    why: str


_WARNINGS = {
    "stock_out_months": (
        "Empty months",
        "shorter",
        "In some months the shelf was empty; those count as shorter months.",
    ),
    "excluded_demand": (
        "Demand",
        "some left out",
        "A person took some demand out; the part's page says who and why.",
    ),
    "level_capped": ("Level", "cut", "The level was cut at a year's demand."),
    "lot_capped": (
        "Order",
        "cut",
        "A larger order would have been cheaper, but would last too long or rests on no history.",
    ),
    "pack_beyond_a_year": ("Pack", "over a year", "The smallest pack lasts longer than a year."),
    "mostly_borrowed_rate": (
        "Rate",
        "mostly borrowed",
        "Most of the rate comes from the part type, little from this part.",
    ),
}


def explain_line(line: Mapping[str, Any], by_hand: LevelByHand | None = None) -> list[Figure]:
    """The figures of a shaped line, in the order in which a person asks for them.

    Args:
        line: the line.
        by_hand: the level that a person set for it, where the page knows.
    """
    share = line["share_borrowed"]
    rows = [
        ("On hand", line["on_hand"], "Sum of all movements of the part and those it is counted with."),
        ("Set aside", line["committed"], "Promised to jobs and not used yet; still on the shelf."),
        ("Available", line["available"], "On hand less set aside: what the counter can sell now."),
        ("On order", line["on_order"], _say_arrival(line)),
        (
            "Reorder point",
            line["reorder_point"],
            "At this many available and on order together, or fewer, it is time to order.",
        ),
        (
            "Level",
            line["level"],
            _say_by_hand(by_hand)
            if line["level_by_hand"]
            else f"Smallest number that lasts to the next delivery with {_percent(line['service_asked'])}.",
        ),
        ("Needed", line["raw_need"], _say_need(line)),
        ("Order", line["suggested_quantity"], _say_order(line)),
        (
            "Days of cover",
            line["days_of_cover"],
            "Available divided by the expected daily demand of the days until a delivery, season counted.",
        ),
        (
            "Asked for per month",
            None if line["rate_per_month"] is None else round(line["rate_per_month"], 1),
            f"Own history with recent months counting most, {_say(line['own_months'])} months in weight; "
            f"{_percent(share)} of it is borrowed from the part type.",
        ),
        (
            "Chance of running short",
            None if line["chance_short"] is None else _percent(line["chance_short"]),
            f"Before an order of today would arrive ({line['arrives_if_ordered_today'] or 'day not known'}).",
        ),
        (
            "Served from the shelf",
            None if line["fill_rate_expected"] is None else _percent(line["fill_rate_expected"]),
            "Expected share of the pieces asked for that this level serves at once.",
        ),
        (
            "Pattern",
            line["demand_class"],
            "How the months look: smooth, erratic, intermittent or lumpy. Shown only; one method serves all.",
        ),
        (
            "Certainty",
            line["certainty"],
            "Sure where counting decides; unsure where a figure is missing or borrowed.",
        ),
    ]
    figures = [Figure(label, _say(value), why) for label, value, why in rows]
    return figures + [Figure(*_WARNINGS[code]) for code in line["warnings"]]


def _say_by_hand(level: LevelByHand | None) -> str:
    if level is None:
        return "Set by hand; the part's page says by whom and why."
    return f"Set by hand by {level.made_by} on {level.made_at_utc:%Y-%m-%d}: {level.why}."


def _say_arrival(line: Mapping[str, Any]) -> str:
    if not line["on_order"]:
        return "No order is open."
    late = f" {line['late_days']} days late." if line["late_days"] else ""
    return f"Next arrival {line['earliest_arrival'] or 'on a day not known'}.{late}"


def _say_need(line: Mapping[str, Any]) -> str:
    """Where the need comes from; a number that is superseded one way does not count for the new one."""
    said = "Level less available and on order."
    if line["level"] is None or line["raw_need"] <= max(line["level"] - line["position"], 0):
        return said
    return (
        f"{said} Here it is more: a superseded number that is counted with it does not serve everybody who "
        "needs the new one, so the new one is needed for itself."
    )


def _say_order(line: Mapping[str, Any]) -> str:
    """What makes the pieces to order more than the pieces needed."""
    said = ["What is needed, after pack, smallest order and price breaks."]
    pack, least = line.get("pack_size") or 1, line.get("minimum_quantity") or 0
    if pack > 1:
        said.append(f"The supplier sells packs of {pack}.")
    if least > 1:
        said.append(f"The supplier sells {least} or more.")
    return " ".join(said)


def _percent(share: float | None) -> str:
    """A share in whole percent; close to everything or nothing with the decimal that keeps them apart."""
    if share is None:
        return "not known"
    is_close = 0.0 < share < 0.01 or 0.99 < share < 1.0
    return f"{100 * share:.1f} %" if is_close else f"{100 * share:.0f} %"


def _say(value: object) -> str:
    if value is None:
        return "not known"
    text = f"{value:g}" if isinstance(value, float) else str(value)
    return text.replace("-", "\N{MINUS SIGN}", 1) if isinstance(value, int | float) else text
