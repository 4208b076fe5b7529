"""What all answers share: a base class that lets fields be added, sources, and cautions as data."""

from collections.abc import Iterable
from typing import Any

from pydantic import BaseModel, ConfigDict

from kb.rules.source import SourceRef
from kb.rules.tools.cautions import Caution


class Answer(BaseModel):
    """An answer to which fields may be added without notice; a field with nothing known is null."""

    model_config = ConfigDict(extra="allow")


class SourceAnswer(Answer):
    """Where a value came from; ``text`` says it for people."""

    source: str | None
    kind: str
    title: str | None
    edition: str | None
    locator: str | None
    text: str


class CautionAnswer(Answer):
    """A caution with its signal word: DANGER, WARNING, CAUTION or NOTICE."""

    signal: str
    hazard: str
    consequence: str
    avoidance: str
    basis: str


def shape_source(source: SourceRef) -> dict[str, Any]:
    """A source as answers list it."""
    return {
        "source": source.name,
        "kind": str(source.kind),
        "title": source.title,
        "edition": source.edition,
        "locator": source.locator,
        "text": source.as_text(),
    }


def shape_sources(sources: Iterable[SourceRef]) -> list[dict[str, Any]]:
    """Sources named in an answer, each once, by name."""
    by_name = {source.source: source for source in sources}
    return [shape_source(by_name[name]) for name in sorted(by_name)]


def shape_caution(caution: Caution) -> dict[str, Any]:
    """A caution as data."""
    return caution.as_json()
