"""Look-ups as JSON."""

from typing import Any

from pydantic import ConfigDict

from api.answers.shape import Answer

FIND_EXAMPLE: dict[str, Any] = {
    "query": "belt 669 18 30",
    "read_as": {"kind": "belt", "text": "belt, 669 × 18 × 30", "part_type": "drive_belt"},
    "message": "One row is what was asked for.",
    "results": [
        {
            "kind": "part",
            "maker": "Brackenloop",
            "part_number": "LP-669-18-30",
            "part_type": "drive_belt",
            "description": "CVT belt 669x18x30 aramid cord",
            "engine": None,
            "designation": None,
            "on_hand": 15,
            "score": 1.0,
            "certainty": "sure",
            "why": "Agrees: kind of part 'drive belt'; size '669', '18', '30'.",
            "differs": [],
        }
    ],
    "near_sizes": [],
}


class ReadAsAnswer(Answer):
    """How the question was understood; ``text`` says it for people."""

    kind: str
    text: str


class FoundAnswer(Answer):
    """A row found. "Sure" means that it is the row described, not that it fits."""

    kind: str
    maker: str | None
    part_number: str | None
    part_type: str | None
    description: str | None
    engine: str | None
    score: float
    certainty: str
    why: str
    on_hand: int | None
    differs: list[str]


class NearAnswer(Answer):
    """A row of nearly the asked size; it is not equal."""

    kind: str
    maker: str | None
    part_number: str | None
    why: str
    equal: bool


class FindAnswerShape(Answer):
    """Rows that a question describes, best first; near sizes stand apart."""

    query: str
    read_as: ReadAsAnswer
    message: str
    results: list[FoundAnswer]
    near_sizes: list[NearAnswer]

    model_config = ConfigDict(extra="allow", json_schema_extra={"examples": [FIND_EXAMPLE]})


class CodeAnswer(Answer):
    """One code of a text, its place, and what it was read as."""

    text: str
    start: int
    end: int
    kind: str
    reading: dict[str, Any]


class ReadAnswer(Answer):
    """What a code says; ``codes`` lists every code that a longer text holds."""

    ok: bool
    codes: list[CodeAnswer] | None = None

    model_config = ConfigDict(
        extra="allow",
        json_schema_extra={
            "examples": [
                {
                    "ok": True,
                    "kind": "belt",
                    "length_mm": 743.0,
                    "width_mm": 20.0,
                    "angle_deg": 30.0,
                }
            ]
        },
    )
