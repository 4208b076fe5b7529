"""Words that people at the counter use for an article, with regional variants, by part type.

A part type may have many names, and a name may serve two part types. Rows without a part type are
descriptive words ("rear", "boxed", "red"): known in the trade, but no article.

Source: per row; common practice, no source.
"""

from functools import cache

from kb.standards.package_csv import read_package_rows


@cache
def list_trade_words() -> tuple[tuple[str, str], ...]:
    """Pairs of part type and name, in the order of the table; the part type of a descriptive word is empty.

    Example:
        >>> ("drive_belt", "transmission belt") in list_trade_words()
        True
    """
    return tuple((row["part_type"], row["name"]) for row in read_package_rows("trade_words.csv"))
