"""Decimals of currencies.

Source: from memory, ISO 4217: most currencies have two decimals; the lists below name those without and those
with three.
"""

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
