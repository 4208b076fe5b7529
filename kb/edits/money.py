"""Amounts of money brought to minor units of their currency."""

from decimal import Decimal

from kb.errors import BadInput
from kb.rules.currency import get_decimals

LARGEST_MINOR = 2_000_000_000  # what a 32-bit integer column holds, rounded down


def convert_to_minor(amount: Decimal, currency: str) -> int:
    """Whole minor units (cents, fils ...) in an amount.

    Raises:
        BadInput: the amount has more decimals than the currency (it is not rounded), or is too large.

    Example:
        >>> convert_to_minor(Decimal("12.5"), "EUR")
        1250
    """
    decimals = get_decimals(currency)
    minor = amount.scaleb(decimals)
    if minor != minor.to_integral_value():
        raise BadInput(
            f"Amount {amount} has more decimals than {currency}, which has {decimals}; "
            f"write at most {decimals} decimals."
        )
    if minor > LARGEST_MINOR:
        raise BadInput(f"Amount {amount} {currency} is larger than can be kept; check it.")
    return int(minor)
