"""The page of words: what the shop calls a part, added and removed, understood at once."""

from typing import Annotated

from fastapi import APIRouter, Form
from pydantic import BaseModel, Field
from starlette.responses import RedirectResponse, Response

from api.dependencies import MAX_TEXT, NO_NUL, Reader, Writer
from api.pages.templates import render
from api.problems import describe_error
from kb.edits.words import add_word, remove_word
from kb.errors import KbError
from kb.lookups.search.words import list_words
from kb.terms import PartType

router = APIRouter(prefix="/words", include_in_schema=False)


class WordForm(BaseModel):
    """A word and the part type that it stands for."""

    part_type: str = Field("", max_length=MAX_TEXT, pattern=NO_NUL)
    word: str = Field("", max_length=MAX_TEXT, pattern=NO_NUL)


@router.get("")
def show_words(session: Reader) -> Response:
    """Words by part type, and the form for a new one."""
    return render(
        "words.html", words=list_words(session), part_types=list(PartType), form=WordForm(), problem=None
    )


@router.post("")
def post_word(session: Writer, form: Annotated[WordForm, Form()]) -> Response:
    """Add a word; what is wrong is said above the form."""
    try:
        add_word(session, form.part_type, form.word)
    except KbError as error:
        problem = describe_error(error)
        return render(
            "words.html",
            status=problem.code,
            words=list_words(session),
            part_types=list(PartType),
            form=form,
            problem=str(error),
        )
    return RedirectResponse("/words", status_code=303)


@router.post("/remove")
def post_removal(session: Writer, form: Annotated[WordForm, Form()]) -> Response:
    """Take a word of the shop back."""
    remove_word(session, form.part_type, form.word)
    return RedirectResponse("/words", status_code=303)
