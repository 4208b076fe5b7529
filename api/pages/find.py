"""Pages that find: any wording, the codes of a pasted note, and the options of the counter's field."""

from typing import Annotated, Any
from urllib.parse import quote

from fastapi import APIRouter, Query
from starlette.responses import Response

from api.dependencies import Reader
from api.pages.templates import render
from kb.lookups.search.find import FindAnswer, Found, NearRow, find_matches
from kb.rules.match.note import NOTE_LIMIT, read_text
from kb.terms import Certainty

router = APIRouter(include_in_schema=False)

_SHOWN = 20
_OPTIONS = 8
_LONGEST_ENGINE = 200
_ARTICLES = {
    "belt": "belt",
    "roller": "rollers",
    "seal": "oil seal",
    "bearing": "bearing",
    "oring": "o-ring",
    "thread": "nut",
    "tyre": "tyre",
    "bulb": "bulb",
    "battery": "battery",
}
_NOT_FOUND = frozenset({"torque", "frame_number"})  # no article

AnyText = Annotated[str, Query()]


@router.get("/find")
def show_find(session: Reader, q: AnyText = "", engine: AnyText = "") -> Response:
    """Parts, engines and vehicles that a text describes; each part leads on to its fit for the engine."""
    answer = find_matches(session, q, _SHOWN) if q.strip() else None
    return render(
        "find.html",
        q=q[:NOTE_LIMIT],
        engine=engine[:_LONGEST_ENGINE],
        answer=answer,
        address=_Address(engine, answer),
        is_part=False,
    )


@router.get("/find/results")
def show_results(session: Reader, q: AnyText = "", engine: AnyText = "") -> Response:
    """The answer alone, as the person types."""
    answer = find_matches(session, q, _SHOWN) if q.strip() else None
    return render("find_answer.html", answer=answer, address=_Address(engine, answer), is_part=True)


@router.get("/find/pick")
def pick_parts(session: Reader, asked: AnyText = "") -> Response:
    """Options for the field of what is in hand, as the person types."""
    answer = find_matches(session, asked, _OPTIONS)
    near = [near for near in answer.near_sizes[:_OPTIONS] if near.row.kind == "part"]
    parts = [found for found in answer.results if found.row.kind == "part"]
    if near:  # a row of quite another size helps less than one of nearly the asked size
        parts = [found for found in parts if found.certainty is not Certainty.UNSURE]
    return render("part_options.html", answer=answer, parts=parts, near=near)


@router.get("/read")
def show_read(text: AnyText = "") -> Response:
    """The codes that a pasted note holds, each with what it was read as."""
    text = text[:NOTE_LIMIT]
    answer = read_text(text) if text.strip() else None
    codes = answer.get("codes", []) if answer else []
    if answer and answer["ok"]:
        fields = {name: value for name, value in answer.items() if name != "codes"}
        codes = [{"text": text.strip(), "kind": answer["kind"], "reading": fields}]
    rows = [(code, _say_question(code)) for code in codes]
    return render("read.html", text=text, answer=answer, codes=rows)


def _say_question(code: dict[str, Any]) -> str:
    """What to look up for a code: its text with the article that it was read as; empty when nothing is."""
    if not code["reading"]["ok"] or code["kind"] in _NOT_FOUND:
        return ""
    return f"{_ARTICLES.get(code['kind'], '')} {code['text']}".strip()


def _name_engine(answer: FindAnswer | None) -> str:
    """The engine that the question itself names, when it is only one."""
    engines = answer.read_as.fields.get("engines", ()) if answer else ()
    return engines[0] if len(engines) == 1 else ""


class _Address:
    """Addresses that lead on from a row found."""

    def __init__(self, engine: str, answer: FindAnswer | None) -> None:
        self._engine = engine.strip()[:_LONGEST_ENGINE] or _name_engine(answer)

    def lead_on(self, found: Found | NearRow) -> str:
        """The fit of a part for the engine in hand, or the counter with an engine found."""
        row = found.row
        if row.kind == "engine":
            return f"/?engine={quote(row.engine or '')}"
        asked = quote(f"{row.maker} {row.part_number}")
        return f"/?engine={quote(self._engine)}&asked={asked}" if self._engine else f"/?asked={asked}"

    def show(self, found: Found | NearRow) -> str:
        """The sheet of a part or an engine."""
        row = found.row
        if row.kind == "engine":
            return f"/engines/{quote(row.engine or '', safe='')}"
        return f"/parts/{quote(row.maker or '', safe='')}/{quote(row.part_number or '')}"
