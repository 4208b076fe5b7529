"""An order below the supplier's smallest does not go out, whatever waiting costs."""

from dataclasses import replace

from kb.rules.reorder.supplier_minimum import SupplierAnswer, SupplierDecision


def limit_to_smallest_order(
    answer: SupplierAnswer, smallest_minor: int | None, *, decimals: int = 2
) -> SupplierAnswer:
    """The decision where the supplier takes no order below a value: wait, and what is missing.

    Args:
        answer: the decision by freight and waiting.
        smallest_minor: value below which no order is taken [minor units]; None = not known, any is taken.
        decimals: of the supplier's currency.

    Source: common practice, no source.

    Example:
        >>> from kb.rules.reorder.supplier_minimum import SupplierAnswer, SupplierDecision
        >>> order = SupplierAnswer(SupplierDecision.ORDER, 9000, 0, 120.0, False, "Order now.")
        >>> limit_to_smallest_order(order, 10000).text
        'No order below 100.00 is taken; 10.00 are missing. Fill it up, or wait.'
    """
    if smallest_minor is None or answer.decision is SupplierDecision.NOTHING_NEEDED:
        return answer
    missing = smallest_minor - answer.order_value_minor
    if missing <= 0:
        return answer
    smallest, short = (f"{amount / 10**decimals:.{decimals}f}" for amount in (smallest_minor, missing))
    return replace(
        answer,
        decision=SupplierDecision.WAIT,
        missing_value_minor=max(missing, answer.missing_value_minor),
        pays_freight=False,
        text=f"No order below {smallest} is taken; {short} are missing. Fill it up, or wait.",
    )
