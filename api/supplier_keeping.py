"""A supplier's terms as somebody wrote them, by names, written down: for the API and the pages."""

from datetime import datetime
from typing import Any

from pydantic import BaseModel, ConfigDict, Field
from sqlmodel import Session

from api.answers.suppliers import shape_supplier
from api.postings import MAX_TEXT, NO_NUL
from kb.edits.ledger import Entry
from kb.edits.money import LARGEST_MINOR
from kb.edits.supplier_terms import NewTerms, change_supplier_terms
from kb.lookups.suppliers import get_supplier


class TermsPost(BaseModel):
    """Terms of a supplier, in place of those written before; null = not known, all null takes them back.

    Amounts are in minor units of the supplier's currency, the margin is in % of the price.
    """

    model_config = ConfigDict(extra="forbid")

    smallest_order_minor: int | None = Field(None, strict=True, ge=0, le=LARGEST_MINOR)
    free_freight_from_minor: int | None = Field(None, strict=True, ge=0, le=LARGEST_MINOR)
    freight_minor: int | None = Field(None, strict=True, ge=0, le=LARGEST_MINOR)
    margin_percent: float | None = Field(None, ge=0, le=1_000)
    note: str | None = Field(None, max_length=500, pattern=NO_NUL)
    made_by: str | None = Field(None, max_length=MAX_TEXT, pattern=NO_NUL)


def keep_terms(
    session: Session, post: TermsPost, *, supplier: str, made_by: str | None, now: datetime
) -> dict[str, Any]:
    """Write a supplier's terms down; the supplier as it then stands.

    Raises:
        NotFound: no supplier has this name. BadInput: the amounts contradict each other.
    """
    found = get_supplier(session, supplier)
    terms = NewTerms(
        post.smallest_order_minor, post.free_freight_from_minor, post.freight_minor, post.margin_percent
    )
    change_supplier_terms(session, found.id, terms, entry=Entry(now, made_by or post.made_by, post.note))
    return shape_supplier(get_supplier(session, found.supplier))
