"""Why a row was found, in words: what agrees, what the row does not say, what was not understood."""

from collections.abc import Iterable

from kb.rules.match.part_number import NumberStep
from kb.rules.match.score import Scored
from kb.rules.match.tokens import Group, GroupKind

_STEP_TEXT = {
    NumberStep.EXACT: "The part number agrees.",
    NumberStep.PREFIX: "The part number begins as asked.",
    NumberStep.LOOK_ALIKE: "The part number agrees when characters that look alike are taken as one.",
    NumberStep.END: "The part number ends as asked.",
    NumberStep.ONE_EDIT: "The part number differs in one character from what was asked.",
}
_LABELS = (
    (GroupKind.CONCEPT, "kind of part {}"),
    (GroupKind.CODE, "code {}"),
    (GroupKind.NUMBER, "size {}"),
    (GroupKind.MAKER, "maker {}"),
    (GroupKind.WORD, "word {}"),
)


def _list_texts(groups: Iterable[Group]) -> list[str]:
    groups = tuple(groups)
    parts = []
    for kind, label in _LABELS:
        texts = [f"'{group.text}'" for group in groups if group.kind is kind]
        if texts:
            parts.append(label.format(", ".join(texts)))
    return parts


def format_number_why(step: NumberStep) -> str:
    """Explanation of a row that was found by its part number.

    Example:
        >>> format_number_why(NumberStep.EXACT)
        'The part number agrees.'
    """
    return _STEP_TEXT[step]


def format_why(scored: Scored) -> str:
    """Explanation of a row that was found by its wording and sizes.

    Example:
        >>> from kb.rules.match.tokens import Candidate
        >>> belt = Group(GroupKind.CONCEPT, "drive belt", 3.0, ())
        >>> size = Group(GroupKind.NUMBER, "787", 1.6, ())
        >>> format_why(Scored(Candidate(1, frozenset()), 0.6, (belt,), (size,), 1))
        "Agrees: kind of part 'drive belt'. Not in this row: size '787'."
    """
    sentences = []
    other_kinds = scored.other_kinds
    agrees = _list_texts(group for group in scored.met if group not in other_kinds)
    if agrees:
        sentences.append(f"Agrees: {'; '.join(agrees)}.")
    lacks = _list_texts(scored.missing)
    if lacks:
        sentences.append(f"Not in this row: {'; '.join(lacks)}.")
    kinds = [f"'{group.text}'" for group in other_kinds]
    if kinds:
        sentences.append(f"It names {', '.join(kinds)} but is recorded as another kind of part.")
    other_units = [f"'{group.text}'" for group in scored.other_units]
    if other_units:
        sentences.append(f"The row gives another unit for {', '.join(other_units)}.")
    if scored.contradictions:
        sentences.append(f"The row says otherwise: {', '.join(scored.contradictions)}.")
    unknown = [f"'{group.text}'" for group in scored.missing if group.kind is GroupKind.UNKNOWN_WORD]
    if unknown:
        sentences.append(f"Not understood: {', '.join(unknown)}.")
    return " ".join(sentences)
