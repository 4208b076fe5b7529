"""A normalised text cut into words, numbers with their units, and codes of letters and digits.

Example:
    >>> [(p.kind, p.text, p.unit) for p in list_pieces("m16 1.25 af19 nh125g 6v nut")][:3]
    [('number', '16', 'm'), ('number', '1.25', None), ('number', '19', 'af')]
"""

import re
from typing import Literal, NamedTuple

from kb.rules.match.numbers import ATTACHED_UNITS, UNITS, Number, is_decimal, read_inches

PieceKind = Literal["word", "number", "code"]

_PIECE = re.compile(
    r"([0-9]+(?:\.[0-9]+)?)([a-z]*)(?![^\W_])"  # number, maybe with a unit
    r"|([^\W\d_]+)(?![^\W_])"  # word in any script
    r"|([^\W_]+)"  # letters and digits mixed
    r'|(")'
)
_LETTER_AND_WORD = re.compile(r"(?<![\w-])([a-z])-(?=[a-z]{2})")  # v-belt, o-ring
_BOLT_SIZE = re.compile(r"(m|af)([0-9]{1,4})")  # thread diameter, width across flats
_BEARING = re.compile(r"(1?6[0-9]{3})(2rs|rs|zz|z)?(c[2-5])?")  # designation with its seals and clearance
_COUNT_WORDS = frozenset({"set", "pack", "box", "bag"})


class Piece(NamedTuple):
    """A word, a number or a code, with a number's unit and inch readings."""

    kind: PieceKind
    text: str
    unit: str | None = None
    inch_readings: tuple[str, ...] = ()

    def as_number(self) -> Number:
        """The piece as a number with its unit."""
        return Number(self.text, self.unit, self.inch_readings)


def _mark_inches(pieces: list[Piece]) -> None:
    """Give the run of decimals directly before an inch mark its readings in millimetres."""
    if pieces and pieces[-1].kind == "number" and not is_decimal(pieces[-1].text):
        pieces[-1] = pieces[-1]._replace(unit="in")
        return
    for at in range(len(pieces) - 1, -1, -1):
        piece = pieces[at]
        if piece.kind != "number" or piece.unit or not is_decimal(piece.text):
            return
        pieces[at] = piece._replace(inch_readings=read_inches(piece.text))


def _add_mixed(pieces: list[Piece], text: str) -> None:
    bolt = _BOLT_SIZE.fullmatch(text)
    bearing = None if bolt else _BEARING.fullmatch(text)
    if bolt:
        pieces.append(Piece("number", bolt.group(2), bolt.group(1)))
    elif bearing:
        designation, seals, clearance = bearing.groups()
        pieces.append(Piece("number", designation))
        pieces += [Piece("word" if one.isalpha() else "code", one) for one in (seals, clearance) if one]
    else:
        pieces.append(Piece("code", text))


def _add_number(pieces: list[Piece], text: str, letters: str) -> None:
    unit = ATTACHED_UNITS.get(letters)
    if letters and unit is None:
        _add_mixed(pieces, text.replace(".", "") + letters)
        return
    if not letters and len(pieces) >= 2 and pieces[-1].text == "of" and pieces[-2].text in _COUNT_WORDS:
        unit = "pc"  # a set of 6
    if unit == "in":
        pieces.append(Piece("number", text))
        _mark_inches(pieces)
        return
    if unit is None and _is_unit_first(pieces):
        pieces[-1] = pieces[-1]._replace(unit=None)
        unit = "g"
    pieces.append(Piece("number", text, unit))


def _is_unit_first(pieces: list[Piece]) -> bool:
    """Whether grams stand before their number: "16x13 gr 5.5", two sizes and then the mass."""
    kinds = [piece.kind == "number" for piece in pieces[-3:]]
    return kinds[-2:] == [True, True] and kinds[:-2] != [True] and pieces[-1].unit == "g"


def _add_word(pieces: list[Piece], word: str) -> None:
    """Add a word; a unit behind a number without one goes to that number."""
    unit = "pc" if word == "of" else UNITS.get(word)  # six of a kind
    if word == "of" and (not pieces or pieces[-1].kind != "number" or pieces[-1].unit):
        unit = None
    if unit is None or not pieces or pieces[-1].kind != "number":
        pieces.append(Piece("word", word))
    elif unit == "in":
        _mark_inches(pieces)
    elif pieces[-1].unit is None:
        pieces[-1] = pieces[-1]._replace(unit=unit)


def list_pieces(text: str) -> list[Piece]:
    """Pieces of a normalised text in their order.

    Args:
        text: result of ``normalise``.
    """
    if "-" in text:
        text = _LETTER_AND_WORD.sub(r"\1", text)
    pieces: list[Piece] = []
    for number, letters, word, mixed, _ in _PIECE.findall(text):
        if word:
            _add_word(pieces, word)
        elif number:
            _add_number(pieces, number, letters)
        elif mixed:
            _add_mixed(pieces, mixed)
        else:
            _mark_inches(pieces)
    return pieces
