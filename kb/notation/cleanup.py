"""From text as typed, pasted or scanned to plain text: look-alikes, decimal commas, misread digits.

The order is fixed: degree marks first, because Unicode normalisation would turn the masculine ordinal
into the letter o; then invisible characters, normalisation, dashes and crosses, white space.

Source: judgement of this project, from what keyboards, office programs and OCR put into such texts.

Good: ``788×17×28`` becomes ``788x17x28``. Refused: ``1,000-24-28``, where the comma may mark thousands.
"""

import re
import unicodedata
from dataclasses import dataclass

from kb.notation.reading import Flag, Notation
from kb.terms import Refusal

# Longer than anything the trade writes in one size; a longer text is refused unread.
MAX_CHARACTERS = 200

_INVISIBLE = "\u00ad\u200b\u200c\u200d\u200e\u200f\u2060\ufeff\u202a\u202b\u202c\u202d\u202e"
_BEFORE_NORMALISING = {
    **dict.fromkeys(map(ord, "°º˚"), "deg"),
    **dict.fromkeys(map(ord, _INVISIBLE), None),
    ord("\u02dc"): "~",  # would fall apart into a blank and a combining tilde
}
_AFTER_NORMALISING = {
    **dict.fromkeys(map(ord, "\u2010\u2011\u2012\u2013\u2014\u2015\u2212"), "-"),
    **dict.fromkeys(map(ord, "\u223c\u223d\u301c\u2053\uff5e"), "~"),
    **dict.fromkeys(map(ord, "×✕✖\u0445\u0425"), "x"),
    **dict.fromkeys(map(ord, "\u041c\u043c"), "M"),
    **dict.fromkeys(map(ord, "Øø⌀"), None),
    **dict.fromkeys(map(ord, "·⋅∙•・。"), "."),
}
_CHANGED_VALUE = ("<super>", "<fraction>", "<circle>")

# A letter before a look-alike makes it part of a word, except where a size follows that letter.
_LOOK_ALIKE_BEFORE_DIGIT = r"(?<![A-LN-UY-Za-wy-z])(?:[Oo]+|[lI|]+)(?=[0-9])"
_LOOK_ALIKE_AFTER_DIGIT = r"(?<=[0-9])(?:[Oo]+|[lI|]+(?![A-Za-z]))"
_REPAIR_ROUNDS = 3  # a digit mended in one round can be the neighbour of the next


@dataclass(frozen=True, slots=True)
class CleanText:
    """Cleaned text with what was done to its numbers."""

    text: str
    flags: frozenset[str]


def _is_changed_by_normalising(character: str) -> bool:
    """Whether a raised digit or a one-character fraction would run into its neighbours."""
    is_marked = unicodedata.decomposition(character).startswith(_CHANGED_VALUE)
    return is_marked and any(c.isdigit() for c in unicodedata.normalize("NFKC", character))


def clean(text: str, notation: Notation, *, keeps_star: bool = False) -> str:
    """Plain one-line text; numbers are not touched.

    Args:
        text: as it came.
        notation: names the text in a refusal.
        keeps_star: leave ``*`` alone; else it becomes the separator x.

    Raises:
        BadNotation: nothing left (``empty``); a question mark, a raised digit or far too long a text
            (``not_recognised``).
    """
    if len(text) > MAX_CHARACTERS and len(text.strip()) > MAX_CHARACTERS:
        problem = f"is longer than {MAX_CHARACTERS} characters"
        raise notation.refuse(text, problem, reason=Refusal.NOT_RECOGNISED)
    for character in text:
        if not character.isascii() and _is_changed_by_normalising(character):
            problem = f"holds the raised digit or fraction '{character}'"
            raise notation.refuse(text, problem, reason=Refusal.NOT_RECOGNISED)
    plain = unicodedata.normalize("NFKC", text.translate(_BEFORE_NORMALISING)).translate(_AFTER_NORMALISING)
    if not keeps_star:
        plain = plain.replace("*", "x")
    plain = " ".join(plain.split())
    if not plain:
        raise notation.refuse(text, "holds nothing to read", reason=Refusal.EMPTY)
    if "?" in plain:
        problem = "holds a question mark, so something was not legible"
        raise notation.refuse(text, problem, reason=Refusal.NOT_RECOGNISED)
    return plain


def repair_digits(plain: str) -> tuple[str, bool]:
    """Text with O and l, I, | mended where they touch a digit, and whether anything was.

    Example:
        >>> repair_digits("78O-I7")
        ('780-17', True)
    """
    mended = plain
    for _ in range(_REPAIR_ROUNDS):
        for pattern in (_LOOK_ALIKE_BEFORE_DIGIT, _LOOK_ALIKE_AFTER_DIGIT):
            mended = re.sub(pattern, lambda m: ("0" if m[0][0] in "Oo" else "1") * len(m[0]), mended)
    return mended, mended != plain


def resolve_commas(plain: str, notation: Notation, *, raw: str | None = None) -> tuple[str, bool]:
    """Text in which every comma left is a list comma, and whether a decimal comma was replaced.

    A refusal quotes ``raw``, the text before clean-up, where it is given.

    Raises:
        BadNotation: ``ambiguous_separator`` when a comma may mark thousands, or when commas with and
            without a blank stand side by side.

    Example:
        >>> resolve_commas("17,5x788", Notation("Size", "write it"))
        ('17.5x788', True)
        >>> resolve_commas("788,17,28", Notation("Size", "write it"))
        ('788,17,28', False)
    """
    if not re.search(r"[0-9],[0-9]", plain):
        return plain, False
    is_comma_only = not re.search(r"[^0-9.,]", re.sub(r" ?, ?", ",", plain))
    has_spaced_comma = re.search(r" ,|, ", plain) is not None
    if is_comma_only and not has_spaced_comma:
        return plain, False
    if is_comma_only or re.search(r"[0-9],[0-9]{3}(?![0-9])", plain):
        problem = "has a comma that may mark decimals, thousands or a list"
        raise notation.refuse(raw or plain, problem, reason=Refusal.AMBIGUOUS_SEPARATOR)
    if re.search(r"[0-9][.,][0-9]+,[0-9]|[0-9],[0-9]+[.,][0-9]", plain):
        problem = "has two decimal marks in one number"
        raise notation.refuse(raw or plain, problem, reason=Refusal.AMBIGUOUS_SEPARATOR)
    return re.sub(r"(?<=[0-9]),(?=[0-9])", ".", plain), True


def clean_numbers(text: str, notation: Notation) -> CleanText:
    """Plain text with its numbers in one spelling, flagged where a comma or a digit was mended."""
    plain, is_mended = repair_digits(clean(text, notation))
    resolved, has_decimal_comma = resolve_commas(plain, notation, raw=text)
    flags = {Flag.OCR_FIXED} if is_mended else set()
    if has_decimal_comma:
        flags.add(Flag.DECIMAL_COMMA)
    return CleanText(resolved, frozenset(flags))


def has_lost_number(plain: str, separators: str = "-x/;,") -> bool:
    """Whether two separators meet, or one stands at an end: a number may be missing there."""
    marks = re.escape(separators)
    return re.search(rf"[{marks}] ?[{marks}]|^[{marks}]|[{marks}]$", plain) is not None
