"""Money in minor units of its currency.

Source: from memory, ISO 4217: most currencies have two decimals; the lists below name those without and those
with three.
"""

from decimal import Decimal

from kb.errors import BadInput

LARGEST_MINOR = 2_000_000_000  # what a 32-bit integer column holds, rounded down

WITHOUT_DECIMALS = frozenset(
    (
        "BIF",
        "CLP",
        "DJF",
        "GNF",
        "ISK",
        "JPY",
        "KMF",
        "KRW",
        "PYG",
        "RWF",
        "UGX",
        "UYI",
        "VND",
        "VUV",
        "XAF",
        "XOF",
        "XPF",
    )
)
WITH_THREE_DECIMALS = frozenset(("BHD", "IQD", "JOD", "KWD", "LYD", "OMR", "TND"))


def get_decimals(currency: str) -> int:
    """Decimals of a currency: 2 unless it is listed.

    Example:
        >>> get_decimals("EUR"), get_decimals("JPY"), get_decimals("KWD")
        (2, 0, 3)
    """
    if currency in WITHOUT_DECIMALS:
        return 0
    return 3 if currency in WITH_THREE_DECIMALS else 2


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
