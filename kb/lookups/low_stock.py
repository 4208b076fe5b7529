"""What to order and whom to ask: the low-stock list of a location, or of the whole shop as one shelf.

Without a location all places count as one shelf: the shop buys once, and a piece at the branch can be moved.
Demand counts up to the last whole month before the day asked for; pieces are those of now.

Most parts are far from their reorder point. A bound that needs no distribution (Cantelli's inequality) puts
them aside; what is left is judged exactly.
"""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property

from sqlmodel import Session

from kb.lookups.demand_history import NO_PRIOR, DemandHistory, TypeHistory
from kb.lookups.locations import get_location
from kb.lookups.stock_outs import read_stock_out_shares
from kb.lookups.stocked_parts import (
    PartName,
    ShelfScope,
    StockedParts,
    read_part_names,
    read_part_types,
    read_stocked_parts,
)
from kb.lookups.supplier_offers import SupplierOffer, find_longest_lead_times, find_supplier_offers
from kb.rules.reorder.demand_class import compute_demand_pattern
from kb.rules.reorder.demand_rate import (
    NO_HISTORY,
    DemandSums,
    PartTypePrior,
    compute_demand_over,
    compute_demand_rate,
    fit_part_type_prior,
)
from kb.rules.reorder.equivalents import Member
from kb.rules.reorder.level import DEFAULT_REVIEW_DAYS, DEFAULT_SERVICE, ServiceTarget
from kb.rules.reorder.lot_size import LotCosts, compute_packed_quantity
from kb.rules.reorder.low_stock import compute_stock_line, rank_stock_lines
from kb.rules.reorder.negative_binomial import compute_probability_at_most
from kb.rules.reorder.quick_look import QuickLook
from kb.rules.reorder.season import compute_exposure_ahead
from kb.rules.reorder.stock_group import GroupDemand, StockGroup, StockPolicy
from kb.rules.reorder.stock_line import StockLine, StockList, StockUnit, StockWarning
from kb.terms import PartType

SETS = (PartType.ROLLER_SET, PartType.SLIDER_SET)
# Work of one more order line, and what holding a piece costs a year: judgement of this project.
DEFAULT_LOT_COSTS = LotCosts(line_cost_minor=50, holding_rate_per_year=0.25)

# A part type's prior is fitted on so many groups at most: more of them change nothing that matters.
GROUPS_OF_PRIOR = 250


@dataclass(frozen=True, slots=True)
class LowStockQuestion:
    """Where, on which day, from which supplier (None = any), and the service asked for."""

    as_of: date
    location: str | None = None
    supplier: str | None = None
    service: float = DEFAULT_SERVICE
    review_days: int = DEFAULT_REVIEW_DAYS


@dataclass(frozen=True, slots=True)
class JudgedGroup:
    """The line of an interchange group, what it was made from, and the offer it would be ordered by."""

    line: StockLine
    group: StockGroup
    part_id: int
    offer: SupplierOffer | None


@dataclass(frozen=True, slots=True)
class LowStockAnswer:
    """Both lists, most urgent first; ``judged`` says how many groups were looked at."""

    location: str | None
    as_of: date
    order: tuple[JudgedGroup, ...]
    chase: tuple[JudgedGroup, ...]
    judged: int

    @property
    def lines(self) -> tuple[JudgedGroup, ...]:
        """Both lists, orders first."""
        return self.order + self.chase


def list_low_stock(session: Session, question: LowStockQuestion) -> LowStockAnswer:
    """The parts to order and the orders to ask about.

    Raises:
        NotFound: no location has this name; the message names the nearest.
    """
    shelf = Shelf(session, question)
    judged = shelf.judge(shelf.list_doubtful())
    by_line = {id(item.line): item for item in judged}

    def rank(listed_on: StockList) -> tuple[JudgedGroup, ...]:
        return tuple(by_line[id(line)] for line in rank_stock_lines((i.line for i in judged), listed_on))

    return LowStockAnswer(
        shelf.scope.location,
        question.as_of,
        rank(StockList.ORDER),
        rank(StockList.CHASE),
        len(shelf.list_groups()),
    )


def judge_part(session: Session, part_id: int, question: LowStockQuestion) -> JudgedGroup:
    """The line of one part with its equivalents, whether it is low or not."""
    shelf = Shelf(session, question)
    return shelf.judge([shelf.stocked.get_group(part_id)])[0]


class Shelf:
    """Everything of a shelf that a judgement needs, read once."""

    def __init__(self, session: Session, question: LowStockQuestion) -> None:
        self.session = session
        self.question = question
        self.scope = _get_scope(session, question.location)
        self.stocked: StockedParts = read_stocked_parts(session, self.scope)
        self.types = read_part_types(session)
        self.history = DemandHistory(session, self.scope.location_id, question.as_of)
        self._own_sums = self.history.read_sums()
        self._first_counts = self.history.read_first_counts()
        self.lead_times = find_longest_lead_times(session)
        self._looks: dict[tuple[str, int], tuple[QuickLook, TypeHistory, float]] = {}
        self._sums: dict[tuple[int, ...], DemandSums] = {}
        self._groups: list[tuple[int, ...]] | None = None

    def list_groups(self) -> list[tuple[int, ...]]:
        """Groups with a part that is kept here or was asked for here."""
        if self._groups is None:
            kept = self.stocked.levels.keys() | self.stocked.manual_levels.keys()
            kept |= self.stocked.open_orders.keys() | self._own_sums.keys()
            alone = [(part_id,) for part_id in sorted(kept) if part_id not in self.stocked.groups]
            pooled = {self.stocked.groups[part_id] for part_id in kept if part_id in self.stocked.groups}
            self._groups = alone + sorted(pooled)
        return self._groups

    @cached_property
    def pooled_sums(self) -> dict[tuple[int, ...], tuple[DemandSums, DemandSums]]:
        """Sums of the groups with several members, and of their orderable members alone."""
        pooled = [group for group in self.list_groups() if len(group) > 1]
        self.history.read_months([part_id for group in pooled for part_id in group])
        return {
            group: (
                self._pool(group),
                self._pool([p for p in group if p not in self.stocked.not_orderable]),
            )
            for group in pooled
        }

    @cached_property
    def priors(self) -> dict[str, PartTypePrior]:
        """What each part type says, from its groups; from evenly spread ones where there are very many."""
        by_type: dict[str, list[tuple[int, ...]]] = defaultdict(list)
        for group in self.list_groups():
            by_type[self.types[group[0]]].append(group)
        chosen = {
            part_type: groups[:: -(-len(groups) // GROUPS_OF_PRIOR)] for part_type, groups in by_type.items()
        }
        self.history.read_months([part_id for groups in chosen.values() for g in groups for part_id in g])
        return {
            part_type: fit_part_type_prior([self._pool(group) for group in groups])
            for part_type, groups in chosen.items()
        }

    def list_doubtful(self) -> list[tuple[int, ...]]:
        """All groups but those that are surely above their reorder point and wait for no order."""
        special = self._special
        loose = [
            group
            for group in self.list_groups()
            if (len(group) == 1 and (group[0] in special or not self._is_surely_enough(group[0])))
            or (len(group) > 1 and (not special.isdisjoint(group) or self._is_pool_short(group)))
        ]
        self.history.read_months([part_id for group in loose for part_id in group])
        return [
            group
            for group in loose
            if len(group) > 1 or group[0] in special or self._is_short(group, self._pool(group))
        ]

    @cached_property
    def _special(self) -> set[int]:
        """Parts whose demand alone does not decide, or whose shelf was empty at some time."""
        stocked = self.stocked
        return stocked.emptied | stocked.manual_levels.keys() | stocked.open_orders.keys()

    def _is_surely_enough(self, part_id: int) -> bool:
        """Whether a part alone is surely above its reorder point; see ``QuickLook``."""
        kind = (self.types[part_id], self.lead_times.get(part_id, 0))
        found = self._looks.get(kind) or self._add_look(kind)
        look, history, lowest_factor = found
        known = self._own_sums.get(part_id)
        start = known[0] if known else self._first_counts.get(part_id)
        own = (0.0, 0.0) if start is None else history.compute_weights(start)
        pieces, squares = (known[1], known[2] / lowest_factor) if known and own[1] else (0.0, 0.0)
        on_hand, committed = self.stocked.levels.get(part_id, (0, 0))
        return look.is_surely_enough(on_hand - committed, pieces, squares, own)

    def _add_look(self, kind: tuple[str, int]) -> tuple[QuickLook, TypeHistory, float]:
        part_type, lead_time_days = kind
        history = self.history.get_type(part_type)
        days = lead_time_days + self.question.review_days
        exposure = compute_exposure_ahead(history.season, self.question.as_of, days=days)
        look = QuickLook(self.priors.get(part_type, NO_PRIOR), exposure, self.question.service)
        self._looks[kind] = (look, history, history.lowest_factor)
        return self._looks[kind]

    def _is_pool_short(self, group: tuple[int, ...]) -> bool:
        """Whether a group of several parts may be short, all together or its orderable members alone."""
        new = [part for part in group if part not in self.stocked.not_orderable]
        if not new:
            return True
        both, new_only = self.pooled_sums[group]
        return self._is_short(group, both) or (len(new) < len(group) and self._is_short(new, new_only))

    def _is_short(self, parts: Sequence[int], sums: DemandSums) -> bool:
        """Whether the position fails the service asked for over the longest wait.

        More days make the demand larger in distribution, single pieces the level: so the longest wait in
        single pieces leaves nothing out.
        """
        position = sum(self.stocked.compute_position(part) for part in parts)
        if position < 0:
            return True
        kind = (self.types[parts[0]], max(self.lead_times.get(part, 0) for part in parts))
        look, _history, _factor = self._looks.get(kind) or self._add_look(kind)
        own = (sums.exposure_months, sums.months)
        if look.is_surely_enough(position, sums.pieces, sums.squares, own):
            return False
        demand = compute_demand_over(compute_demand_rate(sums, look.prior), look.exposure_ahead_months)
        return demand.mean > 0 and compute_probability_at_most(demand, position) < self.question.service

    def _pool(self, parts: Sequence[int], *, shares: Mapping[int, float] | None = None) -> DemandSums:
        """One history of several parts, made once where no month counts in part."""
        key = tuple(parts)
        if not shares and key in self._sums:
            return self._sums[key]
        together = self.join_months(parts, self.history.read_months(parts))
        start = self.find_start(parts, together)
        if start is None:
            return NO_HISTORY
        sums = self.history.compute_sums(self.types[parts[0]], together, start=start, shares=shares or {})
        if not shares:
            self._sums[key] = sums
        return sums

    def join_months(self, parts: Sequence[int], months: Mapping[int, Mapping[int, int]]) -> dict[int, int]:
        """Pieces by month of several parts together."""
        if len(parts) == 1:
            return dict(months.get(parts[0], {}))
        together: dict[int, int] = defaultdict(int)
        for part_id in parts:
            for month, pieces in months.get(part_id, {}).items():
                together[month] += pieces
        return together

    def find_start(self, parts: Sequence[int], months: Mapping[int, int]) -> int | None:
        """First month on sale: the first one asked for, else the first one counted."""
        counted = [self._first_counts[part_id] for part_id in parts if part_id in self._first_counts]
        return min([*months, *counted], default=None)

    def judge(self, groups: Sequence[tuple[int, ...]]) -> list[JudgedGroup]:
        """The lines of groups, each exactly."""
        part_ids = {part_id for group in groups for part_id in group}
        names = read_part_names(self.session, part_ids)
        offers = find_supplier_offers(self.session, part_ids, supplier=self.question.supplier)
        months = self.history.read_months(part_ids)
        shares = read_stock_out_shares(self.session, self.scope, groups, self.history)
        return [
            self._judge_group(group, names=names, offers=offers, months=months, shares=shares.get(group, {}))
            for group in groups
        ]

    def _judge_group(
        self,
        group: tuple[int, ...],
        *,
        names: Mapping[int, PartName],
        offers: Mapping[int, Sequence[SupplierOffer]],
        months: Mapping[int, Mapping[int, int]],
        shares: Mapping[int, float],
    ) -> JudgedGroup:
        demand = self._build_demand(group, months, shares)
        best = {part: _choose_offer(offers.get(part, ()), demand) for part in group}
        members = tuple(self._build_member(part, names[part], best[part]) for part in group)
        first = names[group[0]]
        stock_group = StockGroup(
            members=members,
            demand=demand,
            policy=StockPolicy(
                target=ServiceTarget(self.question.service),
                review_days=self.question.review_days,
                manual_level=self._find_manual_level(group),
                lot_costs=DEFAULT_LOT_COSTS,
            ),
            open_orders=tuple(o for part in group for o in self.stocked.open_orders.get(part, ())),
            unit=StockUnit.SET if first.part_type in SETS else StockUnit.PIECE,
            warnings=self._list_warnings(group, shares),
        )
        line = compute_stock_line(stock_group, self.question.as_of)
        part_id = next(
            p for p in group if (names[p].maker, names[p].part_number) == (line.maker, line.part_number)
        )
        return JudgedGroup(line, stock_group, part_id, best[part_id])

    def _build_member(self, part_id: int, name: PartName, best: SupplierOffer | None) -> Member:
        on_hand, committed = self.stocked.levels.get(part_id, (0, 0))
        return Member(
            name.maker,
            name.part_number,
            on_hand,
            committed,
            sum(order.quantity for order in self.stocked.open_orders.get(part_id, ())),
            is_orderable=part_id not in self.stocked.not_orderable,
            offer=best.offer if best else None,
        )

    def _build_demand(
        self, group: tuple[int, ...], months: Mapping[int, Mapping[int, int]], shares: Mapping[int, float]
    ) -> GroupDemand:
        part_type = self.types[group[0]]
        prior = self.priors.get(part_type, NO_PRIOR)
        new = [part for part in group if part not in self.stocked.not_orderable]
        new_only = None
        if new and any(part in self.stocked.superseded for part in group):
            new_only = compute_demand_rate(self._pool(new, shares=shares), prior)
        together = self.join_months(group, months)
        start = self.find_start(group, together)
        run = range(start, self.history.last_month + 1) if start is not None else range(0)
        return GroupDemand(
            rate=compute_demand_rate(self._pool(group, shares=shares), prior),
            season=self.history.get_type(part_type).season,
            pattern=compute_demand_pattern([together.get(month, 0) for month in run]) if run else None,
            new_only_rate=new_only,
        )

    def _find_manual_level(self, group: Sequence[int]) -> int | None:
        levels = [self.stocked.manual_levels[p] for p in group if p in self.stocked.manual_levels]
        return max(levels, default=None)

    def _list_warnings(self, group: Sequence[int], shares: Mapping[int, float]) -> tuple[StockWarning, ...]:
        found = []
        if any(share < 1.0 for share in shares.values()):
            found.append(StockWarning.STOCK_OUT_MONTHS)
        if any(part in self.stocked.excluded for part in group):
            found.append(StockWarning.EXCLUDED_DEMAND)
        return tuple(found)


def _choose_offer(offers: Sequence[SupplierOffer], demand: GroupDemand) -> SupplierOffer | None:
    """The best offer whose smallest order is no more than a year's demand, else the smallest of all."""
    year = 12.0 * demand.rate.rate_per_month if demand.rate else 0.0

    def count_smallest(item: SupplierOffer) -> int:
        return compute_packed_quantity(1, item.offer.packing)

    fitting = [item for item in offers if count_smallest(item) <= max(year, 1.0)]
    return fitting[0] if fitting else min(offers, key=count_smallest, default=None)


def _get_scope(session: Session, location: str | None) -> ShelfScope:
    if location is None:
        return ShelfScope(None, None)
    found = get_location(session, location)
    return ShelfScope(found.id, found.location)
