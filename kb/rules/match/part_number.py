"""Keys of part numbers: how a number typed from a worn label finds its row.

Steps, and the first that answers ends the search: the same letters and digits; the same start; the
same after look-alike characters are made one; one wrong, missing, extra or swapped character; the same end.

Example:
    >>> format_key("zi18-12.928"), format_look_alike("S1O")
    ('ZI1812928', '510')
"""

import re
from enum import StrEnum

from rapidfuzz.distance import OSA

from kb.rules.match.normal import fold_text

MIN_KEY = 5
MAX_KEY = 20
MIN_EDIT_KEY = 6
MIN_DIGITS = 3
_LOOK_ALIKE = str.maketrans("OQILSZB", "0011528")
_MAY_BE_WORN = re.compile(r"[OIL][0-9]|[0-9][OIL]|[A-Z][01]|[01][A-Z]")
_SEEN_AS_DIGIT = re.compile(r"[OIL]+(?=[0-9])|(?<=[0-9])[OIL]+")


class NumberStep(StrEnum):
    """How a part number was found, from the surest to the least sure."""

    EXACT = "exact"
    PREFIX = "prefix"
    LOOK_ALIKE = "look_alike"
    ONE_EDIT = "one_edit"
    END = "end"


def format_key(part_number: str) -> str:
    """Letters and digits of a part number, upper case, accents dropped, in any script."""
    return "".join(filter(str.isalnum, fold_text(part_number).upper()))


def format_look_alike(key: str) -> str:
    """The key with characters that a worn label confuses made one: O Q 0, I L 1, S 5, Z 2, B 8."""
    return key.translate(_LOOK_ALIKE)


def count_digits(text: str) -> int:
    """Digits of a key; O, I and L that touch one count too, for they may be worn digits.

    Example:
        >>> count_digits("GWO45"), count_digits("TOOL")
        (3, 0)
    """
    digits = sum(map(str.isdigit, text))
    return digits + sum(map(len, _SEEN_AS_DIGIT.findall(text))) if digits else 0


def may_be_worn(key: str) -> bool:
    """Whether a character of a key may be another: O, I, L beside a digit; 0 or 1 beside a letter."""
    return _MAY_BE_WORN.search(key) is not None


def repair_digits(key: str) -> str:
    """The key with O, I and L beside a digit taken for digits.

    Example:
        >>> repair_digits("KH6O04ZZ")
        'KH6004ZZ'
    """
    return _SEEN_AS_DIGIT.sub(lambda run: format_look_alike(run.group()), key)


def is_number_question(key: str) -> bool:
    """Whether a question's key may be a part number: 5 to 20 characters, three of them digits."""
    return MIN_KEY <= len(key) <= MAX_KEY and count_digits(key) >= MIN_DIGITS


def split_for_one_edit(key: str) -> tuple[tuple[str, ...], str]:
    """Starts and reversed end that catch every key one edit away.

    One edit leaves the first or the second half whole, except a swap across the cut; the second start
    covers that.

    Returns:
        Two starts for the key index, and one start for the index of reversed keys.

    Example:
        >>> split_for_one_edit("ABCDEF")
        (('ABC', 'ABD'), 'FED')
    """
    half = len(key) // 2
    first, second = key[:half], key[half:]
    return (first, first[:-1] + second[0]), second[::-1]


def is_one_edit(key: str, other: str) -> bool:
    """Whether one character is wrong, missing, extra, or two neighbours are swapped."""
    return OSA.distance(key, other, score_cutoff=1) <= 1
