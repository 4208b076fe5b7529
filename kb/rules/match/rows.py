"""A catalogue row as index keys: concept, codes, maker, numbers and words, and its part number's keys."""

from collections import Counter
from collections.abc import Mapping

from kb.rules.match.normal import ROW_LIMIT, encode_token, fold_text, normalise, squeeze
from kb.rules.match.numbers import Number, format_number, format_size_code, list_row_tokens
from kb.rules.match.part_number import format_key, format_look_alike
from kb.rules.match.phrases import ACCESSORY_WORDS, PhraseTable
from kb.rules.match.pieces import Piece, list_pieces
from kb.rules.match.spelling import Alternatives, Spelling
from kb.rules.match.tokens import NAMED_ONLY, RowKeys, RowText, TermField

BearingSizes = Mapping[str, tuple[float, float, float]]
_SHOWN_READINGS = 2


def fold_maker(maker: str) -> str:
    """A maker's name as the vocabulary keeps it: folded, single blanks.

    Example:
        >>> fold_maker(" Fjordane  Teknik ")
        'fjordane teknik'
    """
    return " ".join(fold_text(maker).split())


def format_concept_token(code: str) -> str:
    """Index token of a concept code."""
    return encode_token("k", squeeze(code))


def format_named_token(code: str) -> str:
    """Index token of a concept that a row's words name, but that its part type rules out."""
    return encode_token(NAMED_ONLY, squeeze(code))


def format_maker_token(maker: str) -> str:
    """Index token of a maker's name."""
    return encode_token("m", squeeze(maker))


def _show_size(size: float) -> str:
    return format_number(f"{size:.3f}")


def _list_numbers(pieces: list[Piece], row: RowText, bearing_sizes: BearingSizes) -> list[Number]:
    """Numbers of the text; then known sizes and sizes behind bearing designations that it does not say."""
    numbers = [piece.as_number() for piece in pieces if piece.kind == "number"]
    known = [Number(_show_size(size), unit or None) for size, unit in row.sizes]
    for number in numbers:
        if number.unit is None:
            known.extend(Number(_show_size(size)) for size in bearing_sizes.get(number.text, ()))
    if not known:
        return numbers
    unsaid = Counter(number.text for number in known) - Counter(format_number(n.text) for n in numbers)
    for number in known:
        if unsaid[number.text] > 0:
            unsaid[number.text] -= 1
            numbers.append(number)
        elif number.unit and number.unit != "mm":
            _add_unit(numbers, number)
    return numbers


def _add_unit(numbers: list[Number], known: Number) -> None:
    """Give the unit of a known size to the number of the text that says it without one."""
    if any(format_number(one.text) == known.text and one.unit == known.unit for one in numbers):
        return
    for at, one in enumerate(numbers):
        if format_number(one.text) == known.text and one.unit is None:
            numbers[at] = known
            return


def _read_concepts(words: list[str], spelling: Spelling, phrases: PhraseTable) -> tuple[str, ...]:
    """Concepts that the row's words name; those before a "with" say what the article is."""
    end = next((at for at, word in enumerate(words) if word in ACCESSORY_WORDS), len(words))
    before = _read_words([spelling.read_row_word(word) for word in words[:end]], phrases)
    return before or _read_words([spelling.read_row_word(word) for word in words], phrases)


def _read_words(words: list[Alternatives], phrases: PhraseTable) -> tuple[str, ...]:
    certainty: dict[str, float] = {}
    for alternatives in words:
        for word, sure in alternatives:
            if word in phrases.trade_words and sure > certainty.get(word, 0.0):
                certainty[word] = sure
    return tuple(concept.code for concept in phrases.find_concepts(certainty))


def analyse_row(
    row: RowText, *, phrases: PhraseTable, spelling: Spelling, bearing_sizes: BearingSizes
) -> RowKeys:
    """Index keys of a row. The same row and phrase table always give the same keys.

    Args:
        row: what the catalogue says.
        phrases: the phrase table.
        spelling: readings of single words; only its phrase table side is used.
        bearing_sizes: bore, outside diameter and width by designation, in mm (ISO 15).
    """
    pieces = list_pieces(normalise(row.description[:ROW_LIMIT]))
    words = [piece.text for piece in pieces if piece.kind == "word"]
    readings = [reading for word in words if (reading := spelling.read_row_word(word))]
    codes = [piece.text for piece in pieces if piece.kind == "code"] + [squeeze(code) for code in row.codes]
    numbers = _list_numbers(pieces, row, bearing_sizes)
    read = _read_concepts(words, spelling, phrases)
    concepts = tuple(dict.fromkeys((*row.concepts, *(code for code in read if code not in row.ruled_out))))
    shown = [word for reading in readings for word, _ in (*reading[: _SHOWN_READINGS - 1], reading[-1])]
    tokens = dict.fromkeys(format_concept_token(concept) for concept in concepts if squeeze(concept))
    tokens.update(dict.fromkeys(format_named_token(code) for code in read if code in row.ruled_out))
    tokens.update(dict.fromkeys(encode_token("c", code) for code in codes if code))
    if squeeze(row.maker):
        tokens[format_maker_token(row.maker)] = None
    tokens.update(dict.fromkeys(list_row_tokens(numbers)))
    tokens.update(dict.fromkeys(encode_token("w", word) for word in shown))
    key = format_key(row.part_number)
    return RowKeys(
        tokens=tuple(tokens),
        concepts=concepts,
        size_code=format_size_code(numbers),
        number_key=key,
        look_alike_key=format_look_alike(key),
        reversed_key=key[::-1],
        terms=_list_terms(row.maker, codes, readings),
    )


def _list_terms(
    maker: str, codes: list[str], readings: list[Alternatives]
) -> tuple[tuple[TermField, str], ...]:
    terms = {(TermField.WORD, read[-1][0]): None for read in readings}
    terms.update({(TermField.CODE, code): None for code in codes if code})
    if squeeze(maker):
        terms[(TermField.MAKER, fold_maker(maker))] = None
    return tuple(terms)
