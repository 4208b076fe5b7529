"""Parts worth a look at a position where only fit records decide: same part type, like description and sizes.

They are no alternatives: nothing says that they fit. The starting point is what is recorded as fitting.
"""

import re
from dataclasses import asdict, dataclass
from typing import Any

from sqlalchemy import select
from sqlmodel import Session

from kb.lookups.engines import get_engine
from kb.lookups.parts import StoredPart, find_parts_by_id
from kb.lookups.places import get_position
from kb.lookups.search.rows import ShownRow
from kb.rules.fit.reading_size import KINDS_OF_POSITION
from kb.rules.fit.values import Verdict
from kb.rules.match.normal import squeeze
from kb.tables.columns import get_table
from kb.terms import Certainty, Outcome, PartType, Position

MOST = 10
_MOST_MODELS = 5
_PER_MODEL = 20
_FITTING = (str(Outcome.FITS), str(Outcome.FITS_WITH_CHANGE))
_SIZE = re.compile(r"[0-9]{2}|[0-9][.,][0-9]")  # one figure alone is a number of pieces
_PLACES = frozenset({"front", "rear", "left", "right", "upper", "lower", "inner", "outer"})
_NOT_A_FIT = "Worth a look, not a fit: nothing is recorded of it here"


@dataclass(frozen=True, slots=True)
class WorthALook:
    """A part like one that fits. Whether it fits is not known."""

    row: ShownRow
    why: str

    def as_json(self) -> dict[str, Any]:
        """The part for JSON."""
        return {**asdict(self.row), "outcome": str(Outcome.NOT_KNOWN), "why": self.why}


def is_judged_by_record_only(position: Position) -> bool:
    """Whether no size decides at a position."""
    return not KINDS_OF_POSITION.get(position)


def list_worth_a_look(session: Session, engine_code: str, position_name: str) -> list[WorthALook]:
    """Parts of the same part type, like in wording and sizes to those recorded as fitting; at most ten.

    Empty where sizes decide, and where no fit is recorded to start from.

    Raises:
        NotFound: engine or position is unknown.
    """
    engine = get_engine(session, engine_code)
    position = get_position(position_name)
    if not is_judged_by_record_only(position):
        return []
    outcomes = _read_outcomes(session, engine.id, position)
    fitting = [part_id for part_id, outcome in outcomes.items() if outcome in _FITTING]
    models = find_parts_by_id(session, fitting[:_MOST_MODELS])
    known = {(part.ref.maker, part.ref.part_number) for part in find_parts_by_id(session, outcomes).values()}
    found: dict[tuple[str | None, str | None], WorthALook] = {}
    names = _read_names(session, engine.id)
    for model in models.values():
        for one in _list_like(session, model, names):
            name = (one.row.maker, one.row.part_number)
            if name not in known:
                found.setdefault(name, one)
    return list(found.values())[:MOST]


def list_worth_a_look_beside(session: Session, verdict: Verdict) -> list[WorthALook]:
    """Parts worth a look beside a verdict, without the part that was asked about.

    Empty where sizes decide and where the verdict names no position.
    """
    if verdict.position is None or not is_judged_by_record_only(verdict.position):
        return []
    asked = verdict.asked.part
    name = (asked.maker, asked.part_number) if asked else None
    found = list_worth_a_look(session, verdict.engine, verdict.position)
    return [one for one in found if (one.row.maker, one.row.part_number) != name]


def _read_outcomes(session: Session, engine_id: int, position: Position) -> dict[int, str]:
    fit = get_table("fit")
    statement = (
        select(fit.c.part_id, fit.c.outcome)
        .where(fit.c.engine_id == engine_id, fit.c.position == str(position))
        .order_by(fit.c.part_id, fit.c.id)
    )
    return dict(session.execute(statement).all())


def _read_names(session: Session, engine_id: int) -> frozenset[str]:
    """Words by which the engine and those of its family are called."""
    engine, family = get_table("engine"), get_table("family")
    own = select(engine.c.family_id).where(engine.c.id == engine_id).scalar_subquery()
    statement = (
        select(engine.c.name, family.c.family)
        .select_from(engine.outerjoin(family))
        .where((engine.c.id == engine_id) | (engine.c.family_id == own))
    )
    return frozenset(
        squeeze(word) for row in session.execute(statement) for name in row if name for word in name.split()
    )


def _describe(description: str, names: frozenset[str]) -> str:
    """The description without the engine's name, which like parts lack; whole if no size is left."""
    kept = " ".join(word for word in description.split() if squeeze(word) not in names)
    return kept if _SIZE.search(kept) else description


def _is_of_other_place(row_text: str | None, model_text: str) -> bool:
    """Whether a row says a place (rear, left ...) that the part it is compared with does not say."""
    places = _PLACES.intersection((row_text or "").lower().split())
    return bool(places.difference(model_text.lower().split()))


def _list_like(session: Session, model: StoredPart, names: frozenset[str]) -> list[WorthALook]:
    part_type, description = model.ref.part_type, model.ref.description
    if part_type is None or part_type is PartType.OTHER or not description:
        return []
    asked = _describe(description, names)
    has_size = _SIZE.search(asked) is not None
    # Imported here: only positions that records decide come to the look-up.
    from kb.lookups.search.find import find_by_wording  # noqa: PLC0415

    answer = find_by_wording(session, f"{part_type.replace('_', ' ')} {asked}", _PER_MODEL)
    return [
        WorthALook(item.row, f"{_NOT_A_FIT}. Like {model.ref.maker} {model.ref.part_number}: {item.why}")
        for item in answer.results
        if item.row.part_type == str(part_type)
        and item.certainty is not Certainty.UNSURE
        and not any(map(str.isdigit, "".join(item.differs)))
        and (has_size or not item.differs)  # without a size only the same words make a part alike
        and not _is_of_other_place(item.row.description, description)
        and (item.row.maker, item.row.part_number) != (model.ref.maker, model.ref.part_number)
    ]
