"""How a question was understood: in words for a person, and as fields for a program."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from kb.notation.read import read_as_json
from kb.rules.match.places import PLACE_WORDS
from kb.rules.match.tokens import Group, GroupKind, Question
from kb.terms import PartType

_KIND_OF_NOTATION = {
    "belt": "belt",
    "belt_wide": "belt",
    "belt_inch": "belt",
    "roller": "roller",
    "thread": "thread",
    "engine": "engine",
}
_NOTATION_OF_ARTICLE = {"drive belt": "belt", "roller set": "roller", "nut": "thread"}
_KIND_OF_ARTICLE = {"drive belt": "belt", "roller set": "roller"}
_PLAIN_NAMES = {"drive belt": "belt", "roller set": "rollers"}
_PART_TYPES = {str(part_type).replace("_", " "): str(part_type) for part_type in PartType}


@dataclass(frozen=True, slots=True)
class ReadAs:
    """What a question was taken for.

    Attributes:
        kind: belt, roller, thread, engine, part_number, gtin or text.
        text: the reading in words, for example "belt, 743 × 20 × 30".
        fields: what else is known of it.
    """

    kind: str
    text: str
    fields: Mapping[str, Any] = field(default_factory=dict)

    def as_json(self) -> dict[str, Any]:
        """The reading for JSON."""
        return {"kind": self.kind, "text": self.text, **self.fields}


def describe_gtin(reading: Mapping[str, Any]) -> ReadAs:
    """Reading of an article number."""
    fields = {name: value for name, value in reading.items() if name not in ("ok", "kind")}
    return ReadAs("gtin", f"article number {reading['gtin14']}", fields)


def describe_number(question: Question, *, is_engine: bool) -> ReadAs:
    """Reading of a question that was answered by the number of a part or an engine."""
    shown = question.text.strip()
    if is_engine:
        return ReadAs("engine", f"engine {shown}", {"designation": shown})
    return ReadAs("part_number", f"part number {shown}", {"key": question.number_key or None})


def describe_items(readings: Sequence[ReadAs]) -> ReadAs:
    """Reading of a question that asks for several articles at once."""
    text = "; and ".join(reading.text for reading in readings)
    return ReadAs("text", text, {"items": [reading.as_json() for reading in readings]})


def describe_question(question: Question) -> ReadAs:
    """Reading of a question by its words and sizes."""
    groups = question.readings[0].groups if question.readings else ()
    article = next((group.text for group in groups if group.kind is GroupKind.CONCEPT), None)
    numbers = [group.text for group in groups if group.kind is GroupKind.NUMBER]
    notation = _read_notation(question.text, article, numbers)
    fields: dict[str, Any] = {
        "article": article,
        "part_type": _PART_TYPES.get(article or ""),
        "numbers": numbers,
        "makers": [group.text for group in groups if group.kind is GroupKind.MAKER],
        "codes": [group.text for group in groups if group.kind is GroupKind.CODE],
        "not_understood": [group.text for group in groups if group.kind is GroupKind.UNKNOWN_WORD],
    }
    kind = _choose_kind(article, notation)
    if notation is not None and kind == _KIND_OF_NOTATION.get(notation["kind"]):
        fields |= {name: value for name, value in notation.items() if name not in ("ok", "kind", "flags")}
        fields["flags"] = list(notation.get("flags", ()))
    label = notation["kind"] if kind == "text" and article is None and notation is not None else kind
    return ReadAs(kind, _say(label, article, groups), fields)


def _read_notation(text: str, article: str | None, numbers: Sequence[str]) -> dict[str, Any] | None:
    """Fields of the size or code that a question holds; None when its kind has no notation."""
    if article is None:
        reading = read_as_json(text)
        return reading if reading["ok"] else None
    kind = _NOTATION_OF_ARTICLE.get(article)
    if kind is None or not numbers:
        return None
    reading = read_as_json(("M" if kind == "thread" else "") + "x".join(numbers), kind)
    return {**reading, "kind": kind} if reading["ok"] else None


def _choose_kind(article: str | None, notation: Mapping[str, Any] | None) -> str:
    if article is not None:
        known = _KIND_OF_ARTICLE.get(article, "text")
        is_thread = article == "nut" and notation is not None and notation["kind"] == "thread"
        return "thread" if is_thread else known
    return _KIND_OF_NOTATION.get(notation["kind"], "text") if notation is not None else "text"


def _is_place(group: Group, article: str) -> bool:
    """Whether a word of the article's name tells its place: a variator nut is a nut at the variator."""
    return group.kind is GroupKind.CONCEPT_WORD and group.text in PLACE_WORDS.difference(article.split())


def _say(kind: str, article: str | None, groups: Sequence[Group]) -> str:
    sizes: list[str] = []
    others: list[str] = []
    for group in groups:
        if group.kind is GroupKind.NUMBER:
            (others if " " in group.text else sizes).append(group.text)
    said = [_PLAIN_NAMES.get(article, article) if article else ("" if kind == "text" else kind)]
    said += [" × ".join(sizes), *others]
    for wanted, label in (
        (GroupKind.CODE, "code {}"),
        (GroupKind.MAKER, "maker {}"),
        (GroupKind.WORD, "'{}'"),
    ):
        said += [label.format(group.text) for group in groups if group.kind is wanted]
    said += [f"'{group.text}'" for group in groups if _is_place(group, article or "")]
    unknown = [group.text for group in groups if group.kind is GroupKind.UNKNOWN_WORD]
    if unknown:
        said.append("not understood: " + ", ".join(f"'{word}'" for word in unknown))
    return ", ".join(filter(None, said)) or "nothing that can be looked up"
