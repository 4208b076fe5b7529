"""Suppliers on a page: terms that a sheet states, and those that the shop writes down."""

import secrets
from decimal import Decimal, InvalidOperation
from functools import partial
from typing import Annotated
from urllib.parse import quote

from fastapi import APIRouter, Form
from pydantic import BaseModel, Field
from sqlmodel import Session
from starlette.responses import RedirectResponse, Response

from api.answers.suppliers import shape_supplier
from api.dependencies import MAX_TEXT, NO_NUL, OptionalText, PathText, Reader, Writer
from api.once import FormOnce
from api.pages.templates import render
from api.problems import Problem, describe_error
from api.supplier_keeping import TermsPost, keep_terms
from kb.edits.money import convert_to_minor
from kb.errors import BadInput
from kb.lookups.suppliers import get_supplier, list_suppliers

router = APIRouter(prefix="/suppliers", include_in_schema=False)

Money = Annotated[str, Field(max_length=20, pattern=NO_NUL)]


class TermsForm(BaseModel):
    """Terms as typed, in whole units of the supplier's currency."""

    key: str = Field(min_length=1, max_length=255)
    smallest_order: Money = ""
    free_freight_from: Money = ""
    freight: Money = ""
    margin: Money = ""
    note: str = Field("", max_length=500, pattern=NO_NUL)
    made_by: str = Field("", max_length=MAX_TEXT, pattern=NO_NUL)


@router.get("")
def show_suppliers(session: Reader, saved: OptionalText = None) -> Response:
    """All suppliers with a form for the terms of each."""
    return _render(session, saved=saved or "")


@router.post("/{supplier}")
def post_terms(
    once: FormOnce, session: Writer, supplier: PathText, form: Annotated[TermsForm, Form()]
) -> Response:
    """Write the terms of a supplier down; what is wrong is said beside the form."""
    ref = get_supplier(session, supplier)
    try:
        post = _read(form, ref.currency or "")
        once.do(form.key, post, partial(keep_terms, supplier=ref.supplier))
    except BadInput as error:
        return _render(session, wrong=(ref.supplier, form), problem=describe_error(error))
    place = quote(ref.supplier, safe="")
    return RedirectResponse(f"/suppliers?saved={place}#{place}", status_code=303)


def _render(
    session: Session,
    *,
    saved: str = "",
    wrong: tuple[str, TermsForm] | None = None,
    problem: Problem | None = None,
) -> Response:
    return render(
        "suppliers.html",
        status=problem.code if problem else 200,
        suppliers=[shape_supplier(supplier) for supplier in list_suppliers(session)],
        saved=saved,
        wrong=wrong[0] if wrong else "",
        typed=wrong[1] if wrong else None,
        problem=problem,
        key=secrets.token_urlsafe(16),
    )


def _read(form: TermsForm, currency: str) -> TermsPost:
    margin = _read_number(form.margin, "Margin")
    return TermsPost(
        smallest_order_minor=_read_money(form.smallest_order, "Smallest order", currency),
        free_freight_from_minor=_read_money(form.free_freight_from, "Free freight", currency),
        freight_minor=_read_money(form.freight, "Freight", currency),
        margin_percent=None if margin is None else float(margin),
        note=form.note.strip() or None,
        made_by=form.made_by.strip() or None,
    )


def _read_money(text: str, name: str, currency: str) -> int | None:
    amount = _read_number(text, name)
    return None if amount is None else convert_to_minor(amount, currency)


def _read_number(text: str, name: str) -> Decimal | None:
    """A number as a person writes it, with a point or a comma; None for an empty field."""
    typed = text.strip().replace(" ", "").replace(",", ".")
    if not typed:
        return None
    try:
        number = Decimal(typed)
    except InvalidOperation:
        number = Decimal("NaN")
    if not number.is_finite() or not 0 <= number <= 100_000_000:
        raise BadInput(f"{name} '{text[:20]}' is no amount; write it like 150 or 12.50, or leave it empty.")
    return number
