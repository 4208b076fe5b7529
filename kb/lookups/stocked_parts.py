"""The parts that a shop keeps, with their pieces, and which of them stand in for each other."""

from collections import defaultdict
from collections.abc import Collection, Iterable
from dataclasses import dataclass, field

from sqlalchemy import func, select
from sqlmodel import Session

from kb.lookups.shelf import is_among, iterate_rows
from kb.rules.reorder.stock_group import OpenOrder
from kb.tables.columns import get_table
from kb.terms import PartStatus, ReplacementKind

ON_ORDER_STATES = ("approved", "sent")


@dataclass(frozen=True, slots=True)
class ShelfScope:
    """One location, or (None) all of them as one shelf."""

    location_id: int | None
    location: str | None


@dataclass(slots=True)
class StockedParts:
    """Pieces by part, open orders, levels set by hand; parts that are special in one way or another."""

    levels: dict[int, tuple[int, int]]
    open_orders: dict[int, list[OpenOrder]]
    manual_levels: dict[int, int]
    not_orderable: set[int]
    excluded: set[int]
    emptied: set[int]
    groups: dict[int, tuple[int, ...]] = field(default_factory=dict)
    superseded: set[int] = field(default_factory=set)

    def get_group(self, part_id: int) -> tuple[int, ...]:
        """The parts that stand in for each other, this one among them."""
        return self.groups.get(part_id, (part_id,))

    def compute_position(self, part_id: int) -> int:
        """Available and on order together."""
        on_hand, committed = self.levels.get(part_id, (0, 0))
        orders = self.open_orders.get(part_id)
        return on_hand - committed + (sum([order.quantity for order in orders]) if orders else 0)


def read_stocked_parts(session: Session, scope: ShelfScope) -> StockedParts:
    """All parts with a stock row, an open order or a level set by hand in the scope."""
    superseded, groups = _read_groups(session)
    return StockedParts(
        levels=_read_levels(session, scope),
        open_orders=read_open_orders(session, scope),
        manual_levels=_read_manual_levels(session, scope),
        not_orderable=superseded | _read_stopped(session),
        excluded=_read_excluded(session, scope),
        emptied=set(session.execute(select(get_table("stock_out").c.part_id).distinct()).scalars()),
        groups=groups,
        superseded=superseded,
    )


def _read_levels(session: Session, scope: ShelfScope) -> dict[int, tuple[int, int]]:
    level = get_table("stock_level").c
    if scope.location_id is not None:
        statement = select(level.part_id, level.on_hand, level.committed).where(
            level.location_id == scope.location_id
        )
    else:
        statement = select(level.part_id, func.sum(level.on_hand), func.sum(level.committed)).group_by(
            level.part_id
        )
    rows = iterate_rows(session, statement)
    return {part_id: (int(on_hand), int(committed)) for part_id, on_hand, committed in rows}


def read_open_orders(session: Session, scope: ShelfScope) -> dict[int, list[OpenOrder]]:
    """Pieces that approved and sent orders still wait for, by part."""
    line, order = get_table("purchase_order_line"), get_table("purchase_order")
    pieces = line.c.quantity - line.c.received - line.c.cancelled
    statement = (
        select(line.c.part_id, pieces, line.c.due_on)
        .select_from(line.join(order))
        .where(order.c.state.in_(ON_ORDER_STATES), pieces > 0)
        .order_by(line.c.id)
    )
    if scope.location_id is not None:
        statement = statement.where(order.c.location_id == scope.location_id)
    found: dict[int, list[OpenOrder]] = defaultdict(list)
    for part_id, quantity, due_on in session.execute(statement):
        found[part_id].append(OpenOrder(quantity, due_on))
    return found


def _read_manual_levels(session: Session, scope: ShelfScope) -> dict[int, int]:
    level = get_table("manual_level").c
    here = (
        level.location_id.is_(None) if scope.location_id is None else level.location_id == scope.location_id
    )
    rows = session.execute(select(level.part_id, level.level).where(here))
    return {row[0]: row[1] for row in rows}


def _read_stopped(session: Session) -> set[int]:
    """Parts that some source calls superseded or discontinued."""
    record = get_table("part_record").c
    stopped = (str(PartStatus.SUPERSEDED), str(PartStatus.DISCONTINUED))
    return set(session.execute(select(record.part_id).where(record.status.in_(stopped))).scalars())


def _read_excluded(session: Session, scope: ShelfScope) -> set[int]:
    excluded = get_table("excluded_demand").c
    statement = select(excluded.part_id).distinct()
    if scope.location_id is not None:
        statement = statement.where(excluded.location_id == scope.location_id)
    return set(session.execute(statement).scalars())


def _read_groups(session: Session) -> tuple[set[int], dict[int, tuple[int, ...]]]:
    """Superseded parts, and every part that others stand in for with its whole group.

    Substitutes are no equals: they keep their own history.
    """
    table = get_table("replacement").c
    kinds = (str(ReplacementKind.SUPERSEDES), str(ReplacementKind.SAME_SIZE))
    rows = session.execute(
        select(table.part_id, table.by_part_id, table.kind).where(table.kind.in_(kinds))
    ).all()
    superseded = {row.part_id for row in rows if row.kind == ReplacementKind.SUPERSEDES}
    return superseded, join_pairs((row.part_id, row.by_part_id) for row in rows)


def join_pairs(pairs: Iterable[tuple[int, int]]) -> dict[int, tuple[int, ...]]:
    """Groups of all that hang together over pairs, by each of their members.

    Example:
        >>> join_pairs([(1, 2), (3, 2), (8, 9)])[3]
        (1, 2, 3)
    """
    members: dict[int, set[int]] = {}
    for first, second in pairs:
        joined = members.get(first, {first}) | members.get(second, {second})
        for part_id in joined:
            members[part_id] = joined
    return {part_id: tuple(sorted(joined)) for part_id, joined in members.items()}


@dataclass(frozen=True, slots=True)
class PartName:
    """A part by maker, number and type."""

    maker: str
    part_number: str
    part_type: str


def read_part_types(session: Session) -> dict[int, str]:
    """Type of every part."""
    part = get_table("part").c
    return dict(iterate_rows(session, select(part.id, part.part_type)))


def read_part_names(session: Session, part_ids: Collection[int]) -> dict[int, PartName]:
    """Names of parts."""
    if not part_ids:
        return {}
    part, maker = get_table("part"), get_table("maker")
    statement = (
        select(part.c.id, maker.c.maker, part.c.part_number, part.c.part_type)
        .select_from(part.join(maker))
        .where(is_among(session, part.c.id, part_ids))
    )
    return {part_id: PartName(*name) for part_id, *name in iterate_rows(session, statement)}
