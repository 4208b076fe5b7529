"""A maker's name, compared without case, blanks and punctuation.

A person meets it on packings and price lists, in as many spellings as there are typists. There is no
standard for it. Source: common practice, no source. ``WREN & SONS`` is the maker ``Wren&Sons``.
"""


def build_maker_key(name: str) -> str:
    """Maker's name without case, blanks and punctuation.

    Example:
        >>> build_maker_key("Wren & Sons")
        'wrensons'
    """
    key = "".join(character for character in name.casefold() if character.isalnum())
    return key or name.casefold()
