"""Problem details as the OpenAPI document describes them, and which statuses answers may have."""

from typing import Any

from fastapi import FastAPI
from pydantic import ConfigDict

from api.answers.shape import Answer
from api.problems import MEDIA_TYPE, TITLES, TYPE_PREFIX


class ProblemAnswer(Answer):
    """An error (RFC 9457): ``type`` is stable, ``detail`` is a sentence that says what to do."""

    type: str
    title: str
    status: int
    detail: str
    instance: str
    request_id: str

    model_config = ConfigDict(
        extra="allow",
        json_schema_extra={
            "examples": [
                {
                    "type": "urn:counterhand:problem:not-found",
                    "title": "Not in the catalogue",
                    "status": 404,
                    "detail": "Engine 'plover-50-x' is not in the catalogue; the nearest spellings are "
                    "'plover-50-l' and 'plover-50-s'.",
                    "instance": "/api/fit",
                    "request_id": "5d7c2a0f9b1e4c33",
                    "nearest": ["plover-50-l", "plover-50-s"],
                }
            ]
        },
    )


def _describe(status: int) -> dict[str, Any]:
    kinds = [f"`{TYPE_PREFIX}{slug}`" for slug, (code, _) in TITLES.items() if code == status]
    return {
        "description": "Problem: " + ", ".join(kinds),
        "content": {MEDIA_TYPE: {"schema": {"$ref": "#/components/schemas/ProblemAnswer"}}},
    }


READ_PROBLEMS: dict[int | str, dict[str, Any]] = {
    status: _describe(status) for status in (400, 401, 403, 404, 422, 429, 500, 503)
}
WRITE_PROBLEMS: dict[int | str, dict[str, Any]] = {
    status: _describe(status) for status in (400, 401, 403, 404, 409, 413, 415, 422, 429, 500, 503)
}


def add_problem_schema(app: FastAPI) -> None:
    """Give the OpenAPI document the schema that the problem responses refer to."""
    build = app.openapi

    def build_with_problems() -> dict[str, Any]:
        document = build()
        schemas = document.setdefault("components", {}).setdefault("schemas", {})
        schemas.setdefault("ProblemAnswer", ProblemAnswer.model_json_schema())
        return document

    app.openapi = build_with_problems  # type: ignore[method-assign]
