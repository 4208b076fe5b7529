"""Parts to have ready at a position of an engine, with stock and place."""

from collections.abc import Sequence
from math import ceil

from sqlalchemy import select
from sqlmodel import Session

from kb.lookups.alternatives import list_alternatives_for
from kb.lookups.engines import EngineRef
from kb.lookups.places import get_place
from kb.rules.card.values import CardPart
from kb.rules.fit.settings import FitLimits
from kb.rules.fit.values import Alternative, Need, PartRef
from kb.tables.columns import get_table
from kb.terms import Outcome, Position

SHOWN_OTHERS = 3
_LIMITS = FitLimits()


def find_ready_part(
    session: Session, engine: EngineRef, position: Position, *, count: int | None = None
) -> CardPart:
    """The part to have ready: one that fits before one that fits with a change, then one on the shelf.

    Args:
        engine: the engine.
        position: where it is to sit.
        count: pieces that the engine needs there; None takes what the need states, else one.

    Returns:
        ``part`` is None when nothing is known to do; ``others`` are the next best.
    """
    place = get_place(session, engine, position)
    pieces = count if count is not None else _find_need_count(place.needs)
    found = list_alternatives_for(session, engine, place, limits=_LIMITS)
    if not found:
        return CardPart(position, None, Outcome.NOT_KNOWN, 0, 1)
    listed = [_build(session, position, item, pieces) for item in found[: 3 * SHOWN_OTHERS]]
    first = min(listed, key=lambda item: (item.outcome is not Outcome.FITS, item.on_hand < item.needed))
    rest = [item for item in listed if item is not first]
    others = tuple(sorted(rest, key=lambda item: item.on_hand < item.needed))[:SHOWN_OTHERS]
    return CardPart(
        position=first.position,
        part=first.part,
        outcome=first.outcome,
        on_hand=first.on_hand,
        needed=first.needed,
        places=first.places,
        why=first.why,
        others=others,
    )


def _find_need_count(needs: Sequence[Need]) -> int | None:
    return next((need_count for need in needs if (need_count := getattr(need, "count", None))), None)


def _build(session: Session, position: Position, item: Alternative, pieces: int | None) -> CardPart:
    per_article = _find_article_count(session, item.part) or 1
    return CardPart(
        position=position,
        part=item.part,
        outcome=item.outcome,
        on_hand=item.on_hand,
        needed=ceil((pieces or 1) / per_article) if pieces else 1,
        places=item.places,
        why=item.why,
    )


def _find_article_count(session: Session, ref: PartRef) -> int | None:
    """Pieces in one article, where a source states it."""
    part, maker, record = (get_table(name) for name in ("part", "maker", "part_record"))
    return session.execute(
        select(record.c.count)
        .select_from(record.join(part).join(maker))
        .where(
            maker.c.maker == ref.maker,
            part.c.part_number == ref.part_number,
            record.c.count.is_not(None),
        )
        .limit(1)
    ).scalar()
