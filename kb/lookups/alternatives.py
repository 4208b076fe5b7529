"""What else would do at a position of an engine, best first.

Candidates come from fit records of the engine, from a range query on sizes, and from what is recorded as
equal to or a substitute for the part asked about and the recorded parts; the rules judge each. Superseded
numbers lead to the last of their chain and stay listed only while some are on the shelf.

The order is outcome, smaller change, more on the shelf, lower price. Sizes are first judged without words and
taken in that order; parts are judged in full until those not yet looked at could not come before those found.
"""

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass, replace
from math import inf

from sqlalchemy import select
from sqlmodel import Session

from kb.lookups.candidates import IdGroup, find_candidates, read_ids
from kb.lookups.engines import EngineRef, get_engine
from kb.lookups.parts import StoredPart, find_parts_by_id
from kb.lookups.places import get_place, get_position
from kb.lookups.replacements import find_equals, find_successors
from kb.lookups.shelf import find_on_hand, find_prices, split_ids
from kb.lookups.sources import read_sourced_rows
from kb.rules.fit.judge import SizeJudge
from kb.rules.fit.rank import find_largest_change, rank_alternatives
from kb.rules.fit.settings import FitLimits
from kb.rules.fit.values import Alternative, Asked, FitRecord, PartSize, Verdict
from kb.rules.fit.verdict import EngineAtPosition, PlaceJudge
from kb.tables.columns import get_table
from kb.terms import Outcome, PartStatus, Position, ReplacementKind

MOST_ALTERNATIVES = 30
_WOULD_DO = (Outcome.FITS, Outcome.FITS_WITH_CHANGE)
_QuickRank = tuple[bool, float]
_UNCHANGED: _QuickRank = (False, 0.0)
_NEXT_TO_UNCHANGED: _QuickRank = (False, 0.005)  # changes are stated to the hundredth of a per cent


def list_alternatives_for(
    session: Session, engine: EngineRef, place: EngineAtPosition, *, limits: FitLimits
) -> list[Alternative]:
    """Parts that would do at a place, best first, at most ``MOST_ALTERNATIVES``."""
    return list_alternatives_to(session, engine, PlaceJudge(place, limits))


def list_alternatives_to(
    session: Session, engine: EngineRef, judge: PlaceJudge, *, without: Collection[int] = ()
) -> list[Alternative]:
    """Parts that would do at a place beside those asked about, best first, at most ``MOST_ALTERNATIVES``.

    Args:
        engine: the engine.
        judge: judge of the position, with what is recorded of the engine there.
        without: ids of parts to leave out, such as the one asked about; what is recorded as their equal or
            substitute is looked at as well.
    """
    return _Search(session, engine, judge, without=without).run()


class _Search:
    """One search for alternatives at a place."""

    def __init__(
        self, session: Session, engine: EngineRef, judge: PlaceJudge, *, without: Collection[int]
    ) -> None:
        self.session = session
        self.judge = judge
        self.without = set(without)
        self.records = _list_records_of_place(session, engine.id, judge.place.position)
        self.found: dict[int, tuple[StoredPart, Alternative]] = {}
        self.seen: set[int] = set(without)

    def run(self) -> list[Alternative]:
        recorded = {
            part_id
            for part_id, items in self.records.items()
            if any(item.outcome in _WOULD_DO for item in items)
        }
        named = recorded | self.without
        self._judge_all(recorded | find_equals(self.session, named) | _find_last(self.session, named))
        for rank, part_ids in _rank_sizes(self.session, self.judge):
            if self._count_not_worse(rank) >= MOST_ALTERNATIVES:
                break
            self._judge_size(part_ids)
            if self._count_not_worse(_NEXT_TO_UNCHANGED) >= MOST_ALTERNATIVES:
                break  # nothing comes before what changes nothing; the other sizes need no look
        self._judge_all(_find_last(self.session, self.found))
        return rank_alternatives(_settle_superseded(self.session, self.found.values()))[:MOST_ALTERNATIVES]

    def _count_not_worse(self, rank: _QuickRank) -> int:
        """Parts that will be listed and that a part of this rank cannot come before."""
        if len(self.found) < MOST_ALTERNATIVES:
            return 0
        offered = _settle_superseded(self.session, self.found.values())
        return sum(
            (item.outcome is not Outcome.FITS, abs(item.change_percent or 0.0)) < rank for item in offered
        )

    def _judge_size(self, part_ids: set[int]) -> None:
        """Parts that rank alike: those on the shelf first, then the cheapest, until there are enough."""
        fresh = part_ids - self.seen
        if len(fresh) <= MOST_ALTERNATIVES:
            self._judge_all(fresh)
            return
        kept, waiting = 0, list[int]()
        for alike in self._group_by_pieces(fresh):
            # Only where a group must be cut does the price decide who stays.
            cut = len(waiting) + len(alike) > MOST_ALTERNATIVES
            waiting += self._sort_by_price(alike) if cut else alike
            while len(waiting) >= MOST_ALTERNATIVES and kept < MOST_ALTERNATIVES:
                group, waiting = waiting[:MOST_ALTERNATIVES], waiting[MOST_ALTERNATIVES:]
                kept += self._judge_all(group)
            if kept >= MOST_ALTERNATIVES:
                return
        self._judge_all(waiting)

    def _group_by_pieces(self, part_ids: set[int]) -> list[set[int]]:
        """Parts with equally many pieces on hand together, most pieces first."""
        on_hand = find_on_hand(self.session, part_ids)
        by_pieces: defaultdict[int, set[int]] = defaultdict(set)
        for part_id in part_ids:
            by_pieces[sum(count for _, count in on_hand.get(part_id, ()))].add(part_id)
        return [by_pieces[pieces] for pieces in sorted(by_pieces, reverse=True)]

    def _sort_by_price(self, part_ids: set[int]) -> list[int]:
        prices = find_prices(self.session, part_ids)
        return sorted(part_ids, key=lambda part_id: prices[part_id][0] if part_id in prices else inf)

    def _judge_all(self, part_ids: Collection[int]) -> int:
        """Judge parts in full and keep those that would do; returns how many of them will be listed."""
        fresh = set(part_ids) - self.seen
        self.seen |= fresh
        kept = []
        for part in find_parts_by_id(self.session, fresh).values():
            asked = Asked(size=part.size, part=part.ref, rival_sizes=part.rival_sizes)
            verdict = self.judge.judge(asked, self.records.get(part.id, ()))
            if verdict.outcome in _WOULD_DO:
                kept.append((part, verdict))
        ids = [part.id for part, _ in kept]
        on_hand, prices = find_on_hand(self.session, ids), find_prices(self.session, ids)
        for part, verdict in kept:
            alternative = _build_alternative(
                verdict, places=on_hand.get(part.id, []), price=prices.get(part.id)
            )
            self.found[part.id] = (part, alternative)
        return len(_settle_superseded(self.session, [self.found[part_id] for part_id in ids]))


def _list_records_of_place(
    session: Session, engine_id: int, position: Position
) -> dict[int, list[FitRecord]]:
    fit = get_table("fit")
    statement = select(fit).where(fit.c.engine_id == engine_id, fit.c.position == str(position))
    found: dict[int, list[FitRecord]] = defaultdict(list)
    for row, source in read_sourced_rows(session, statement):
        found[row.part_id].append(FitRecord(Outcome(row.outcome), source, row.note, row.seen_on))
    return found


def _rank_sizes(session: Session, judge: PlaceJudge) -> Iterator[tuple[_QuickRank, set[int]]]:
    """Ids of parts whose size would do, sizes that rank alike together, the best first."""
    first = judge.first
    if first is None:
        return
    candidates = find_candidates(
        session,
        judge.place.position,
        first.need,
        limits=first.limits,
    )
    equal, other = _split_equal(first, candidates)
    by_rank = _group_by_rank(first, equal)
    unchanged = by_rank.pop(_UNCHANGED, [])
    if unchanged:
        yield _UNCHANGED, read_ids(unchanged)
    for rank, part_ids in _group_by_rank(first, other).items():
        by_rank[rank] += part_ids
    for rank in sorted(by_rank):
        yield rank, read_ids(by_rank[rank])


def _split_equal(
    judge: SizeJudge, candidates: dict[PartSize, IdGroup]
) -> tuple[dict[PartSize, IdGroup], dict[PartSize, IdGroup]]:
    """Belts of the very length and width of the need, which change no ratio, and the others."""
    if judge.belt is None:
        return candidates, {}
    need = judge.belt.need
    equal: dict[PartSize, IdGroup] = {}
    other: dict[PartSize, IdGroup] = {}
    for size, part_ids in candidates.items():
        filled = judge.belt.fill_thickness(size)
        is_equal = (size.length_mm, size.top_width_mm) == (need.length_mm, need.top_width_mm)
        group = equal if is_equal else other
        group[filled] = group.get(filled, []) + part_ids
    return equal, other


def _group_by_rank(judge: SizeJudge, candidates: dict[PartSize, IdGroup]) -> defaultdict[_QuickRank, IdGroup]:
    by_rank: defaultdict[_QuickRank, IdGroup] = defaultdict(list)
    for size, part_ids in candidates.items():
        rank = _judge_quickly(judge, size)
        if rank is not None:
            by_rank[rank] += part_ids
    return by_rank


def _judge_quickly(judge: SizeJudge, size: PartSize) -> _QuickRank | None:
    """Outcome and largest change of a size, without words for a belt; None where it would not do."""
    if judge.belt is not None:
        compared = judge.belt.compare(size)
        outcome, change = compared.outcome, compared.largest_change_percent
    else:
        judged = judge.judge(size)
        outcome, change = judged.outcome, find_largest_change(judged.consequences)
    return (outcome is not Outcome.FITS, abs(change or 0.0)) if outcome in _WOULD_DO else None


def _find_last(session: Session, part_ids: Collection[int]) -> set[int]:
    """Ids of the last successors of superseded parts."""
    chains = (find_successors(session, part_id) for part_id in _list_superseded(session, part_ids))
    return {chain.last_id for chain in chains if chain}


def _list_superseded(session: Session, part_ids: Collection[int]) -> set[int]:
    """Ids of those parts that another one supersedes."""
    table = get_table("replacement")
    found: set[int] = set()
    for group in split_ids(part_ids):
        statement = select(table.c.part_id).where(
            table.c.kind == ReplacementKind.SUPERSEDES, table.c.part_id.in_(group)
        )
        found.update(session.execute(statement).scalars())
    return found


def _build_alternative(
    verdict: Verdict, *, places: list[tuple[str, int]], price: tuple[int, str | None] | None
) -> Alternative:
    part = verdict.asked.part
    assert part is not None
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
    """All but superseded numbers of which none are on the shelf; the others say what replaces them."""
    listed = list(found)
    superseded = _list_superseded(session, [part.id for part, _ in listed])
    settled = []
    for part, alternative in listed:
        if part.id in superseded or part.ref.status is PartStatus.SUPERSEDED:
            if alternative.on_hand > 0:
                why = f"{alternative.why} {_say_replacement(session, part)}"
                settled.append(replace(alternative, why=why))
        elif part.ref.status is PartStatus.DISCONTINUED:
            settled.append(replace(alternative, why=f"{alternative.why} No longer made."))
        else:
            settled.append(alternative)
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
    judge = PlaceJudge(get_place(session, engine, position), limits or FitLimits())
    found = list_alternatives_to(session, engine, judge)
    return AlternativesAnswer(engine.engine, position, tuple(found))
