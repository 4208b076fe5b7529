"""A backtest as data."""

from typing import Any

from kb.lookups.backtest import BacktestAnswer, EqualRule


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
                "method_pieces_held": rule.method_held and round(rule.method_held.mean_pieces_held, 1),
            }
            for rule in answer.rules
        ],
        "equal_service": [
            {
                "rule": rule.name,
                "turned_to": rule.turned_to,
                "mean_pieces_held": rule.held and round(rule.held.mean_pieces_held, 1),
                "mean_value_held_minor": rule.held and round(rule.held.mean_value_held_minor),
                "pieces_against_method": _compare(rule, answer),
            }
            for rule in answer.equal
        ],
    }


def hide_worth(shaped: dict[str, Any]) -> dict[str, Any]:
    """The answer without money, for those who may not see prices."""
    rules = [{**rule, "mean_value_held_minor": None} for rule in shaped["rules"]]
    equal = [{**rule, "mean_value_held_minor": None} for rule in shaped["equal_service"]]
    return {**shaped, "rules": rules, "equal_service": equal}


def _compare(rule: EqualRule, answer: BacktestAnswer) -> float | None:
    """Pieces held against those of the method: 1.2 = a fifth more."""
    own = answer.rules[0].result.mean_pieces_held
    return None if rule.held is None or not own else round(rule.held.mean_pieces_held / own, 3)
