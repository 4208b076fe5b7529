"""What else would do at a position of an engine, best first.

Candidates come from fit records of the engine and from a range query on sizes; the rules judge each.
Superseded numbers lead to their replacement and stay listed only while some are on the shelf.
"""

from collections import defaultdict
from collections.abc import Collection, Iterable
from dataclasses import dataclass, replace

from sqlalchemy import select
from sqlmodel import Session

from kb.lookups.candidates import Candidate, find_candidates
from kb.lookups.engines import EngineRef, get_engine
from kb.lookups.parts import StoredPart, find_parts_by_id
from kb.lookups.places import get_place, get_position
from kb.lookups.replacements import find_successors
from kb.lookups.shelf import find_on_hand, find_prices
from kb.lookups.sources import read_sourced_rows
from kb.rules.fit.belt import BeltJudge
from kb.rules.fit.judge import fill_from_others, judge_size
from kb.rules.fit.rank import find_largest_change, rank_alternatives
from kb.rules.fit.settings import FitLimits
from kb.rules.fit.values import Alternative, Asked, BeltNeed, FitRecord, Need, PartSize, Verdict
from kb.rules.fit.verdict import EngineAtPosition, build_verdict
from kb.tables.columns import get_table
from kb.terms import POSITIONS_OF_PART_TYPE, Outcome, PartType, Position, ReplacementKind

MOST_ALTERNATIVES = 50
_WOULD_DO = (Outcome.FITS, Outcome.FITS_WITH_CHANGE)
_QuickRank = tuple[bool, float]


def list_alternatives_for(
    session: Session,
    engine: EngineRef,
    place: EngineAtPosition,
    *,
    limits: FitLimits,
    without: Collection[int] = frozenset(),
) -> list[Alternative]:
    """Parts that would do at a place, best first, at most ``MOST_ALTERNATIVES``; never one that does not fit.

    Args:
        engine: the engine.
        place: what is recorded of the engine at the position.
        limits: limits of the rules.
        without: ids of parts to leave out, such as the one asked about.
    """
    records = _list_records_of_place(session, engine.id, place.position)
    quick = _judge_candidates(session, place, limits)
    recorded = {
        part_id for part_id, items in records.items() if any(item.outcome in _WOULD_DO for item in items)
    }
    part_ids = (set(quick) | recorded) - set(without)
    on_hand = find_on_hand(session, part_ids)
    shortlist = _shorten(part_ids, recorded, quick=quick, on_hand=on_hand)
    shortlist |= _add_successors(session, shortlist) - set(without)
    parts = find_parts_by_id(session, shortlist)
    on_hand |= find_on_hand(session, shortlist - part_ids)
    prices = find_prices(session, shortlist)
    found = []
    for part in parts.values():
        asked = Asked(size=part.size, part=part.ref)
        verdict = build_verdict(
            place, asked, records.get(part.id, ()), limits=limits, rival_sizes=part.rival_sizes
        )
        if verdict.outcome in _WOULD_DO:
            found.append(
                (
                    part,
                    _build_alternative(verdict, places=on_hand.get(part.id, []), price=prices.get(part.id)),
                )
            )
    return rank_alternatives(_settle_superseded(session, found))[:MOST_ALTERNATIVES]


def _list_records_of_place(
    session: Session, engine_id: int, position: Position
) -> dict[int, list[FitRecord]]:
    fit = get_table("fit")
    statement = select(fit).where(fit.c.engine_id == engine_id, fit.c.position == str(position))
    found: dict[int, list[FitRecord]] = defaultdict(list)
    for row, source in read_sourced_rows(session, statement):
        found[row.part_id].append(FitRecord(Outcome(row.outcome), source, row.note, row.seen_on))
    return found


def _judge_candidates(session: Session, place: EngineAtPosition, limits: FitLimits) -> dict[int, _QuickRank]:
    """Ids of parts that would do by size or geometry, with outcome and size of the change for ranking."""
    if not place.needs:
        return {}
    need = fill_from_others(place.needs[0], place.needs)
    candidates = find_candidates(
        session, place.position, need, part_types=list_part_types(place.position), limits=limits
    )
    by_size: dict[PartSize, _QuickRank | None] = {}
    judge = BeltJudge(need, place.drive, limits) if isinstance(need, BeltNeed) else None
    found = {}
    for candidate in candidates:
        if candidate.size not in by_size:
            by_size[candidate.size] = _judge_quickly(judge, place, need, candidate=candidate, limits=limits)
        quick = by_size[candidate.size]
        if quick is not None:
            found[candidate.part_id] = quick
    return found


def _judge_quickly(
    judge: BeltJudge | None, place: EngineAtPosition, need: Need, *, candidate: Candidate, limits: FitLimits
) -> _QuickRank | None:
    if judge is not None:
        compared = judge.compare(candidate.size)
        outcome, change = compared.outcome, compared.change_percent
    else:
        judged = judge_size(place.position, candidate.size, need, drive=None, limits=limits)
        outcome, change = judged.outcome, find_largest_change(judged.consequences)
    return (outcome is not Outcome.FITS, abs(change or 0.0)) if outcome in _WOULD_DO else None


def list_part_types(position: Position) -> list[PartType]:
    """Part types that can sit at a position."""
    return [part_type for part_type, positions in POSITIONS_OF_PART_TYPE.items() if position in positions]


def _shorten(
    part_ids: set[int],
    recorded: set[int],
    *,
    quick: dict[int, _QuickRank],
    on_hand: dict[int, list[tuple[str, int]]],
) -> set[int]:
    """The parts worth judging in full: all recorded ones, and the best by size and stock."""

    def rank(part_id: int) -> tuple[bool, float, int]:
        return (*quick[part_id], -sum(count for _, count in on_hand.get(part_id, ())))

    by_size = sorted((part_id for part_id in part_ids if part_id in quick), key=rank)
    return set(by_size[: 2 * MOST_ALTERNATIVES]) | set(sorted(recorded & part_ids)[: 4 * MOST_ALTERNATIVES])


def _add_successors(session: Session, part_ids: Collection[int]) -> set[int]:
    """Ids of the last successors of superseded parts."""
    table = get_table("replacement")
    superseded = session.execute(
        select(table.c.part_id).where(
            table.c.kind == ReplacementKind.SUPERSEDES, table.c.part_id.in_(sorted(part_ids))
        )
    ).scalars()
    chains = (find_successors(session, part_id) for part_id in set(superseded))
    return {chain.last_id for chain in chains if chain}


def _build_alternative(
    verdict: Verdict, *, places: list[tuple[str, int]], price: tuple[int, str | None] | None
) -> Alternative:
    part = verdict.asked.part
    assert part is not None  # noqa: S101 - alternatives are parts
    return Alternative(
        part=part,
        outcome=verdict.outcome,
        certainty=verdict.certainty,
        on_hand=sum(count for _, count in places),
        why=_explain(verdict),
        change_percent=find_largest_change(verdict.consequences),
        price_minor=price[0] if price else None,
        currency=price[1] if price else None,
        places=tuple(places),
    )


def _explain(verdict: Verdict) -> str:
    best = verdict.evidence[0] if verdict.evidence else None
    changes = " ".join(
        item.text
        for item in verdict.consequences
        if item.change_percent is None or abs(item.change_percent) >= 0.05
    )
    if verdict.outcome is Outcome.FITS:
        return best.text if best else "Same size."
    return changes or " ".join(reason.text for reason in verdict.reasons if reason.outcome is verdict.outcome)


def _settle_superseded(
    session: Session, found: Iterable[tuple[StoredPart, Alternative]]
) -> list[Alternative]:
    """Superseded numbers only while there are some on the shelf, and then saying what replaces them."""
    listed = list(found)
    table = get_table("replacement")
    superseded = set(
        session.execute(
            select(table.c.part_id).where(
                table.c.kind == ReplacementKind.SUPERSEDES,
                table.c.part_id.in_([part.id for part, _ in listed]),
            )
        ).scalars()
    )
    settled = []
    for part, alternative in listed:
        if part.id not in superseded:
            settled.append(alternative)
        elif alternative.on_hand > 0:
            settled.append(replace(alternative, why=f"{alternative.why} {_say_replacement(session, part)}"))
    return settled


def _say_replacement(session: Session, part: StoredPart) -> str:
    chain = find_successors(session, part.id)
    last = find_parts_by_id(session, {chain.last_id})[chain.last_id].ref if chain else None
    return f"Superseded by {last.maker} {last.part_number}: sell down." if last else "Superseded: sell down."


@dataclass(frozen=True, slots=True)
class AlternativesAnswer:
    """What would do at a position of an engine."""

    engine: str
    position: Position
    alternatives: tuple[Alternative, ...]


def list_alternatives(
    session: Session, engine_code: str, position_name: str, *, limits: FitLimits | None = None
) -> AlternativesAnswer:
    """What would do, best first.

    Raises:
        NotFound: engine or position is unknown.
    """
    engine = get_engine(session, engine_code)
    position = get_position(position_name)
    place = get_place(session, engine, position)
    found = list_alternatives_for(session, engine, place, limits=limits or FitLimits())
    return AlternativesAnswer(engine.engine, position, tuple(found))
