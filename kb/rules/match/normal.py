"""One spelling of any text, for rows and questions alike: case, accents, dashes, decimal commas.

Example:
    >>> normalise("Ärlenko 788×17,5–28°")
    'arlenko 788 17.5 28 deg '
"""

import re
import unicodedata

QUESTION_LIMIT = 200
"""Characters of a question that are read. Longer text is cut: a pasted page must not cost seconds."""
ROW_LIMIT = 1_000

_CHARACTERS = {
    **dict.fromkeys(map(ord, "×✕✖х"), "x"),
    **dict.fromkeys(range(0x2010, 0x2016), "-"),
    **dict.fromkeys(map(ord, "\u2212\u00ad\ufe63\uff0d"), "-"),
    **dict.fromkeys(map(ord, "“”„″＂"), '"'),
    **dict.fromkeys(map(ord, "‘’‚′"), "'"),
    **dict.fromkeys(map(ord, "°º˚"), " deg "),
    **dict.fromkeys(map(ord, "·⋅・"), "."),
    **dict.fromkeys(map(ord, "øØ"), "o"),
    **dict.fromkeys(map(ord, "łŁ"), "l"),
    **dict.fromkeys(map(ord, "đĐ"), "d"),
    **dict.fromkeys(map(ord, "æÆ"), "ae"),
    **dict.fromkeys(map(ord, "œŒ"), "oe"),
    ord("ı"): "i",
    **dict.fromkeys(map(ord, "\u200b\u200c\u200d\u2060\ufeff"), ""),
}
_DIAMETER_SIGN = re.compile(r"[øØ⌀]\s*(?=[0-9])")
_LIST_COMMAS = re.compile(r"(?<![0-9.,])[0-9]+(?:,[0-9]+){2,}(?![0-9,])")
_DECIMAL_COMMA = re.compile(r"(?<=[0-9]),(?=[0-9])")
# A run of numbers: it does not begin inside a code, so the last letter of "ab12x 700" is no sign.
_NUMBER_RUN = re.compile(
    r"(?<![^\W_])(?:m|af)?[0-9]+(?:\.[0-9]+)?(?:(?:mm|cm)?\s*[-x*/]\s*[0-9]+(?:\.[0-9]+)?)+"
)
_SIGN = re.compile(r"(mm|cm)?\s*[-x*/]\s*")
_BARE_POINT = re.compile(r"(?<![\w.])\.(?=[0-9])")
# Ways of writing that mean one thing, each behind a piece of text that has to be there: most texts have none.
_SAME_MEANING = tuple(
    (hint, re.compile(pattern), meaning)
    for hint, pattern, meaning in (
        ("left", r"\bleft[- ]?(?:hand(?:ed)?[- ])?thread(?:ed)?\b", "lh"),
        ("left", r"\bleft[- ]?hand(?:ed)?\b", "left lh"),
        ("a/f", r"\ba/f\b", "af"),
        ("w-", r"\b([0-9]{1,2})w-([0-9]{2,3})\b", r"\1w\2"),  # 75W-90, an oil's grade
        ("/min", r"\b(?:u|r|tr|giri|rev|t|1)/min\b", "rpm"),
        ("2z", r"\b2z\b", "zz"),
        (
            "sides",
            r"\b(?:rubber )?seal(?:ed|s)?(?: on)? both sides\b|\bboth sides (?:rubber )?seal(?:ed|s)\b",
            "2rs",
        ),
        ("sides", r"\b(?:metal )?shield(?:ed|s)?(?: on)? both sides\b|\bboth sides shield(?:ed|s)\b", "zz"),
    )
)
"""Source: 2Z = ZZ and LH as in the notations; the others are common practice, no source."""


def _fold_other_scripts(text: str) -> str:
    text = _DIAMETER_SIGN.sub(" dia ", text).translate(_CHARACTERS)
    folded = []
    for character in unicodedata.normalize("NFKD", text.casefold()):
        if unicodedata.combining(character):
            continue
        digit = unicodedata.decimal(character, None)
        folded.append(character if digit is None else str(digit))
    return "".join(folded).casefold().translate(_CHARACTERS)


def fold_text(text: str) -> str:
    """The text in lower case without accents; typographic signs replaced by what a keyboard has.

    Example:
        >>> fold_text("Béluna Straße")
        'beluna strasse'
    """
    return text.lower() if text.isascii() else _fold_other_scripts(text)


def normalise(text: str) -> str:
    """Folded text in which signs between two numbers are blanks and decimal commas are points.

    A comma between two numbers is a decimal comma; with two or more in one run it is a list.

    Example:
        >>> normalise("roller 16x13 6,5 g"), normalise("27,42,8")
        ('roller 16 13 6.5 g', '27 42 8')
    """
    text = fold_text(text)
    if "," in text:
        text = _LIST_COMMAS.sub(lambda run: run.group().replace(",", " "), text)
        text = _DECIMAL_COMMA.sub(".", text)
    if "." in text:
        text = _BARE_POINT.sub("0.", text)
    for hint, pattern, meaning in _SAME_MEANING:
        if hint in text:
            text = pattern.sub(meaning, text)
    return _NUMBER_RUN.sub(lambda run: _SIGN.sub(r"\1 ", run.group()), text)


def squeeze(text: str) -> str:
    """Only the letters and digits of the folded text: the identity of a maker's name or a code.

    Example:
        >>> squeeze("Plover-50 S")
        'plover50s'
    """
    return "".join(filter(str.isalnum, fold_text(text)))


def encode_token(kind: str, word: str) -> str:
    """Index token of a word: its kind's letter, then only a-z and 0-9, whatever the script was.

    Example:
        >>> encode_token("w", "belt"), encode_token("w", "μ2")
        ('wbelt', 'wu3bc2')
    """
    if word.isascii():
        return kind + word
    return kind + "".join(c if c.isascii() else f"u{ord(c):x}" for c in word[:24])
