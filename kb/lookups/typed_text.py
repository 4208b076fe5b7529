"""Text as a person typed it, before it is compared with what is stored."""

from kb.errors import BadInput
from kb.notation.reading import show_text

MAX_TYPED = 200


def is_storable(text: str) -> bool:
    """Whether a database can hold a text at all: no NUL, nothing that has no UTF-8 form.

    Example:
        >>> is_storable("N.48.962"), is_storable("N\\x0048"), is_storable("\\ud800")
        (True, False, False)
    """
    return "\x00" not in text and not any("\ud800" <= character <= "\udfff" for character in text)


def clean_typed(text: str) -> str:
    """The text with single blanks.

    Raises:
        BadInput: nothing is left, it is longer than ``MAX_TYPED``, or it holds what no database can store.
    """
    cleaned = " ".join(text.split())
    if not cleaned:
        raise BadInput(
            "Nothing was asked about; write a maker and part number or a size such as 743-20-30.",
            field="asked",
        )
    if len(cleaned) > MAX_TYPED:
        raise BadInput(
            f"What was asked about, '{show_text(cleaned)}', is longer than {MAX_TYPED} characters; "
            "write only maker and part number, or one size.",
            field="asked",
        )
    if not is_storable(cleaned):
        raise BadInput(
            f"'{show_text(cleaned)}' holds a character that is no text; type it again.", field="asked"
        )
    return cleaned
