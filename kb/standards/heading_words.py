"""Headings that price lists, stock counts and fit lists put above their columns, by column of the catalogue.

A heading may stand for several columns ("width" of a belt, of a roller): which one is meant depends on the
kind of sheet. Rows without a column are headings of the trade that no column of the catalogue takes
("retail price", "VAT").

Source: per row; common practice, no source.
"""

from functools import cache

from kb.standards.package_csv import read_package_rows


@cache
def list_heading_words() -> tuple[tuple[str, str], ...]:
    """Pairs of column and heading, in the order of the table; the column of a heading left out is empty.

    Example:
        >>> ("part_number", "article no.") in list_heading_words()
        True
    """
    return tuple((row["column"], row["name"]) for row in read_package_rows("heading_words.csv"))
