"""Part numbers as compared: letters and digits only, so that blanks and hyphens do not matter.

Every maker groups the characters of a part number in another way, and lists drop or add the marks
between them. Look-alike characters (O and 0) are kept apart here: both occur in real numbers.

Source: common practice, no source.

Good: ``zi18-12928`` and ``ZI18 12928`` are the same. A text without a letter or a digit is like no other.
"""

import unicodedata

# Cyrillic and Greek letters that are drawn like Latin ones.
# Source: published: Unicode Technical Standard 39, table of confusable characters (from memory).
_LATIN_TWINS = str.maketrans(
    "АВЕЅІЈКМНОРСТУХаеѕіјорсухΑΒΕΖΗΙΚΜΝΟΡΤΥΧο",
    "ABESIJKMHOPCTYXaesijopcyxABEZHIKMNOPTYXo",
)
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


def find_latin_twin(text: str) -> str | None:
    """The Latin number that a number of another script is drawn exactly like; None when there is none.

    Example:
        >>> find_latin_twin("\u0410\u0412-743"), find_latin_twin("\u0416-743"), find_latin_twin("AB-743")
        ('AB-743', None, None)
    """
    if text.isascii():
        return None
    twin = text.translate(_LATIN_TWINS)
    return twin if twin.isascii() else None


def explain_latin_twin(text: str, twin: str) -> str:
    """Sentence on a number that is drawn exactly like a Latin one; what to do about it is not said."""
    letter = next(character for character in text if not character.isascii())
    return (
        f"Part number '{text}' looks like '{twin}' but is typed in letters of another alphabet "
        f"(U+{ord(letter):04X}, {unicodedata.name(letter).lower()})"
    )
