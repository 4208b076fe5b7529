"""Suppliers and their terms: smallest order, free freight, freight, margin."""

from functools import partial
from typing import Any

from fastapi import APIRouter
from starlette.responses import Response

from api.answers.problem import READ_PROBLEMS, WRITE_PROBLEMS
from api.answers.suppliers import shape_supplier
from api.dependencies import PageLimit, PageMark, PathText, Reader
from api.marks import Following, open_mark, seal_mark
from api.once import HeaderOnce
from api.supplier_keeping import TermsPost, keep_terms
from kb.lookups.suppliers import get_supplier, list_suppliers

router = APIRouter(prefix="/api/suppliers", tags=["orders"], responses=READ_PROBLEMS)


@router.get("")
def get_suppliers(
    following: Following, session: Reader, limit: PageLimit = 50, after: PageMark = None
) -> dict[str, Any]:
    """Suppliers with their terms, by name, a page at a time."""
    found = list_suppliers(session, after=open_mark(after), limit=limit + 1)
    shown = found[:limit]
    mark = seal_mark(shown[-1].supplier) if len(found) > limit else None
    following.link(mark)
    return {"suppliers": [shape_supplier(supplier) for supplier in shown], "after": mark}


@router.get("/{supplier}")
def get_one_supplier(session: Reader, supplier: PathText) -> dict[str, Any]:
    """One supplier: what its sheet says, what is written down of it, and what counts of both."""
    return shape_supplier(get_supplier(session, supplier))


@router.post("/{supplier}/terms", status_code=201, responses=WRITE_PROBLEMS)
def post_terms(once: HeaderOnce, supplier: PathText, post: TermsPost) -> Response:
    """Write a supplier's terms down in place of those before; all null takes them back."""
    return once(post, partial(keep_terms, supplier=supplier))
