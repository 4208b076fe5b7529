"""How a customer's machine is named in the bench book: a plate, or any label of the shop.

A person meets it as "AB 123", "ab-123", "blue one of Meier". Spaces, dashes and case do not tell machines
apart. It says nothing about the owner; no more than the label is kept.

Source: judgement of this project.
"""

import re
import unicodedata


def fold_label(label: str) -> str:
    """A machine's label as it is looked up: letters and digits of any script, in lower case.

    Example:
        >>> fold_label("ab-123 C") == fold_label("AB 123-c")
        True
    """
    folded = unicodedata.normalize("NFKC", label).casefold()
    return re.sub(r"[\W_]+", "", folded)
