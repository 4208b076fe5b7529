"""Several names in one phrase, as a sentence lists them."""

from collections.abc import Sequence


def format_word_list(words: Sequence[str]) -> str:
    """Words with commas between them and "and" before the last.

    Example:
        >>> format_word_list(["bell", "shoes", "springs"])
        'bell, shoes and springs'
        >>> format_word_list(["bell"]), format_word_list([])
        ('bell', '')
    """
    *first, last = words or [""]
    return f"{', '.join(first)} and {last}" if first else last
