"""A backtest as data."""

from typing import Any

from kb.lookups.backtest import BacktestAnswer


def shape_backtest(answer: BacktestAnswer) -> dict[str, Any]:
    """The rules side by side; money in minor units of the offers' currencies, mixed where they are."""
    return {
        "location": answer.location,
        "as_of": answer.as_of.isoformat(),
        "parts": answer.parts,
        "months": answer.months,
        "counted_months": answer.counted_months,
        "lead_months": answer.lead_months,
        "rules": [
            {
                "rule": rule.name,
                "fill_rate": None if rule.result.fill_rate is None else round(rule.result.fill_rate, 4),
                "pieces_asked": rule.result.pieces_asked,
                "pieces_served": rule.result.pieces_served,
                "mean_pieces_held": round(rule.result.mean_pieces_held, 1),
                "mean_value_held_minor": round(rule.result.mean_value_held_minor),
                "order_lines": rule.result.order_lines,
            }
            for rule in answer.rules
        ],
    }


def hide_worth(shaped: dict[str, Any]) -> dict[str, Any]:
    """The answer without money, for those who may not see prices."""
    rules = [{**rule, "mean_value_held_minor": None} for rule in shaped["rules"]]
    return {**shaped, "rules": rules}
