"""Months in which a part could not be sold because the shelf was empty."""

from calendar import monthrange
from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Sequence
from datetime import date, timedelta

from sqlalchemy import select
from sqlmodel import Session

from kb.lookups.demand_history import DemandHistory
from kb.lookups.stocked_parts import ShelfScope
from kb.tables.columns import get_table
from kb.tables.demand_rows import count_month

Spells = list[tuple[date, date | None]]


def read_stock_out_shares(
    session: Session, scope: ShelfScope, groups: Collection[tuple[int, ...]], history: DemandHistory
) -> dict[tuple[int, ...], dict[int, float]]:
    """Share of days in stock by month, of groups whose every place was empty at some time.

    A month in which what was not had was written down counts in full.
    """
    places, spells, unmet = _read_stock_outs(session, scope, groups)
    found: dict[tuple[int, ...], dict[int, float]] = {}
    as_of = history.as_of
    for group in groups:
        kept = [place for part_id in group for place in places.get(part_id, ())]
        if not kept or not all(place in spells for place in kept):
            continue
        common = [(start, end or as_of) for start, end in spells[kept[0]]]
        for place in kept[1:]:
            common = list(_intersect(common, [(start, end or as_of) for start, end in spells[place]]))
        shares = compute_stock_out_shares(
            common, first_month=history.first_month, last_month=history.last_month
        )
        written = {month for part_id in group for month in unmet.get(part_id, ())}
        found[group] = {month: share for month, share in shares.items() if month not in written}
    return found


def _read_stock_outs(
    session: Session, scope: ShelfScope, groups: Collection[tuple[int, ...]]
) -> tuple[dict[int, list[tuple[int, int]]], dict[tuple[int, int], Spells], dict[int, set[int]]]:
    """Places by part, spells without a piece by place, months with unmet requests by part.

    Only of parts that were ever out of stock.
    """
    spell, unmet, level = get_table("stock_out").c, get_table("unmet_request").c, get_table("stock_level").c
    spells: dict[tuple[int, int], Spells] = defaultdict(list)
    for row in session.execute(select(spell.part_id, spell.location_id, spell.from_date, spell.until_date)):
        if scope.location_id in (None, row.location_id):
            spells[row.part_id, row.location_id].append((row.from_date, row.until_date))
    touched = {part_id for part_id, _location in spells}
    wanted = {part for group in groups if not touched.isdisjoint(group) for part in group}
    places: dict[int, list[tuple[int, int]]] = defaultdict(list)
    if wanted:
        rows = session.execute(select(level.part_id, level.location_id).where(level.part_id.in_(wanted)))
        for row in rows:
            if scope.location_id in (None, row.location_id):
                places[row.part_id].append((row.part_id, row.location_id))
    written: dict[int, set[int]] = defaultdict(set)
    for row in session.execute(select(unmet.part_id, unmet.location_id, unmet.asked_on)):
        if scope.location_id in (None, row.location_id):
            written[row.part_id].add(count_month(row.asked_on))
    return places, spells, written


def _intersect(
    first: Sequence[tuple[date, date]], second: Sequence[tuple[date, date]]
) -> Iterator[tuple[date, date]]:
    for start, end in first:
        for other_start, other_end in second:
            begin, finish = max(start, other_start), min(end, other_end)
            if begin < finish:
                yield begin, finish


def compute_stock_out_shares(
    spells: Iterable[tuple[date, date]], *, first_month: int, last_month: int
) -> dict[int, float]:
    """Share of days in stock of the months with spells without a piece; a spell's last day is not in it.

    Example:
        >>> compute_stock_out_shares([(date(2026, 4, 1), date(2026, 4, 16))], first_month=0, last_month=99999)
        {24315: 0.5}
    """
    empty: dict[int, int] = defaultdict(int)
    for start, end in spells:
        day = start
        while day < end:
            days_in_month = monthrange(day.year, day.month)[1]
            step = min((end - day).days, days_in_month - day.day + 1)
            month = day.year * 12 + day.month - 1
            if first_month <= month <= last_month:
                empty[month] += step
            day += timedelta(days=step)
    return {
        month: max(1.0 - days / monthrange(month // 12, month % 12 + 1)[1], 0.0)
        for month, days in empty.items()
    }
