"""Part numbers as compared: letters and digits only, so that blanks and hyphens do not matter.

Every maker groups the characters of a part number in another way, and lists drop or add the marks
between them. Look-alike characters (O and 0) are kept apart here: both occur in real numbers.

Source: common practice, no source.

Good: ``zi18-12928`` and ``ZI18 12928`` are the same. A text without a letter or a digit is like no other.
"""

import unicodedata

_ASCII_MARKS = {code: None for code in range(128) if not chr(code).isalnum()}


def part_number_key(text: str) -> str:
    """What of a part number is compared: normalised, upper case, letters and digits only.

    Example:
        >>> part_number_key(" zi18-12 928 ")
        'ZI1812928'
    """
    if text.isascii():  # nearly every number: one pass in C
        return text.upper().translate(_ASCII_MARKS)
    folded = unicodedata.normalize("NFKC", unicodedata.normalize("NFKC", text).casefold().upper())
    return "".join(c for c in folded if c.isalpha() or c.isdecimal())


def is_same_part_number(first: str, second: str) -> bool:
    """Whether two spellings mean one part number of one maker.

    Example:
        >>> is_same_part_number("ZI18 12928", "zi18/12928"), is_same_part_number("-", "/")
        (True, False)
    """
    key = part_number_key(first)
    return bool(key) and key == part_number_key(second)
