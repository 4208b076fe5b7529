"""Words for articles that the catalogue's part types do not tell apart: cables, brake parts, oils, screws.

The part types ``other`` and ``consumable`` hold many kinds of articles. For the look-up a brake cable and
a spark plug are two articles, so each has a name of its own here. An empty article marks a descriptive word.

Source: per row; common practice, no source.
"""

from functools import cache

from kb.standards.package_csv import read_package_rows


@cache
def list_other_trade_words() -> tuple[tuple[str, str], ...]:
    """Pairs of article and name, in the order of the table.

    Example:
        >>> ("fuel_hose", "petrol pipe") in list_other_trade_words()
        True
    """
    return tuple((row["article"], row["name"]) for row in read_package_rows("other_trade_words.csv"))
