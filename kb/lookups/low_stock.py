"""What to order and whom to ask: the low-stock list of a location, or of the whole shop as one shelf.

Without a location all places count as one shelf: the shop buys once, and a piece at the branch can be moved.
Demand counts up to the last whole month before the day asked for; pieces are those of now.

Most parts are far from their reorder point. A bound that needs no distribution (see ``quick_look``) puts
them aside; what is left is judged exactly.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from sqlmodel import Session

from kb.lookups.demand_history import NO_PRIOR
from kb.lookups.doubtful_groups import list_doubtful_groups
from kb.lookups.shelf_demand import ShelfDemand
from kb.lookups.stock_outs import read_stock_out_shares
from kb.lookups.stocked_parts import (
    PartName,
    read_part_names,
)
from kb.lookups.supplier_offers import SupplierOffer, find_supplier_offers
from kb.rules.reorder.demand_class import compute_demand_pattern
from kb.rules.reorder.demand_rate import (
    compute_demand_rate,
)
from kb.rules.reorder.equivalents import Member
from kb.rules.reorder.level import DEFAULT_REVIEW_DAYS, DEFAULT_SERVICE, ServiceTarget
from kb.rules.reorder.lot_size import LotCosts
from kb.rules.reorder.low_stock import compute_stock_line, rank_stock_lines
from kb.rules.reorder.offer_choice import (
    OfferCost,
    find_quicker_offer,
    format_offer_choice,
    format_quicker_offer,
    rank_offers,
)
from kb.rules.reorder.stock_group import GroupDemand, StockGroup, StockPolicy
from kb.rules.reorder.stock_line import StockLine, StockList, StockReason, StockUnit, StockWarning
from kb.terms import PartType

SETS = (PartType.ROLLER_SET, PartType.SLIDER_SET)
# Work of one more order line, and what holding a piece costs a year: judgement of this project.
DEFAULT_LOT_COSTS = LotCosts(line_cost_minor=50, holding_rate_per_year=0.25)


RankedOffer = tuple[SupplierOffer, OfferCost | None]


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
    """The line of an interchange group, what it was made from, and the offer it would be ordered by.

    ``supplier_why`` says what speaks for that offer, ``quicker`` who brings pieces sooner where the shelf
    runs short before; both name prices.
    """

    line: StockLine
    group: StockGroup
    part_id: int
    offer: SupplierOffer | None
    supplier_why: str | None = None
    quicker: str | None = None


@dataclass(frozen=True, slots=True)
class LowStockAnswer:
    """Both lists, most urgent first; ``judged`` says how many groups were looked at."""

    location: str | None
    as_of: date
    order: tuple[JudgedGroup, ...]
    chase: tuple[JudgedGroup, ...]
    judged: int

    @property
    def untried(self) -> int:
        """Lines of parts that nobody asked for yet."""
        return sum(item.line.is_untried for item in self.order)

    def leave_out_untried(self) -> "LowStockAnswer":
        """The answer without them."""
        return replace(self, order=tuple(item for item in self.order if not item.line.is_untried))

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


class Shelf(ShelfDemand):
    """A shelf with the judgement of its groups."""

    def __init__(self, session: Session, question: LowStockQuestion) -> None:
        super().__init__(session, question.location, question.as_of)
        self.question = question
        self._policy = StockPolicy(
            target=ServiceTarget(question.service),
            review_days=question.review_days,
            lot_costs=DEFAULT_LOT_COSTS,
        )

    def list_doubtful(self) -> list[tuple[int, ...]]:
        """All groups but those that are surely above their reorder point and wait for no order."""
        question = self.question
        return list_doubtful_groups(self, service=question.service, review_days=question.review_days)

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
        ranked = {part: self._rank_offers(offers.get(part, ()), demand) for part in group}
        members = tuple([self._build_member(part, names[part], ranked[part]) for part in group])
        first, manual = names[group[0]], self._find_manual_level(group)
        stock_group = StockGroup(
            members=members,
            demand=demand,
            policy=self._policy if manual is None else replace(self._policy, manual_level=manual),
            open_orders=tuple(o for part in group for o in self.stocked.open_orders.get(part, ())),
            unit=StockUnit.SET if first.part_type in SETS else StockUnit.PIECE,
            warnings=self._list_warnings(group, shares),
        )
        line = compute_stock_line(stock_group, self.question.as_of)
        part_id = next(
            p for p in group if (names[p].maker, names[p].part_number) == (line.maker, line.part_number)
        )
        best = ranked[part_id]
        if line.listed_on is not StockList.ORDER or len(best) < 2:
            return JudgedGroup(line, stock_group, part_id, best[0][0] if best else None)
        return JudgedGroup(line, stock_group, part_id, best[0][0], *_say_offers(line, best))

    def _rank_offers(self, offers: Sequence[SupplierOffer], demand: GroupDemand) -> list[RankedOffer]:
        """The offers in the currency of the first one by the year's cost, the others behind them."""
        if len(offers) < 2 or demand.rate is None:
            return [(offer, None) for offer in offers]
        by_offer = {id(item.offer): item for item in offers}
        ranked = rank_offers(
            [item.offer for item in offers if item.currency == offers[0].currency],
            demand.rate,
            season=demand.season,
            policy=self._policy,
            today=self.question.as_of,
        )
        others = [(item, None) for item in offers if item.currency != offers[0].currency]
        return [*((by_offer[id(cost.offer)], cost) for cost in ranked), *others]

    def _build_member(self, part_id: int, name: PartName, ranked: Sequence[RankedOffer]) -> Member:
        on_hand, committed = self.stocked.levels.get(part_id, (0, 0))
        return Member(
            name.maker,
            name.part_number,
            on_hand,
            committed,
            sum([order.quantity for order in self.stocked.open_orders.get(part_id, ())]),
            is_orderable=part_id not in self.stocked.not_orderable,
            offer=ranked[0][0].offer if ranked else None,
        )

    def _build_demand(
        self, group: tuple[int, ...], months: Mapping[int, Mapping[int, int]], shares: Mapping[int, float]
    ) -> GroupDemand:
        part_type = self.types[group[0]]
        prior = self.priors.get(part_type, NO_PRIOR)
        new = [part for part in group if part not in self.stocked.not_orderable]
        new_only = None
        if new and any(part in self.stocked.superseded for part in group):
            new_only = compute_demand_rate(self.pool(new, shares=shares), prior)
        together = self.join_months(group, months)
        start = self.find_start(group, together)
        months_on_sale = self.history.last_month + 1 - start if start is not None else 0
        return GroupDemand(
            rate=compute_demand_rate(self.pool(group, shares=shares), prior),
            season=self.history.get_type(part_type).season,
            pattern=compute_demand_pattern([*together.values()], months_on_sale)
            if months_on_sale > 0
            else None,
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


def _say_offers(line: StockLine, ranked: Sequence[RankedOffer]) -> tuple[str | None, str | None]:
    """Why the first offer was chosen, and who is quicker where the shelf runs short before it comes."""
    first = ranked[0][0]
    currency = first.currency or ""
    costs = [cost for _item, cost in ranked if cost is not None]
    quicker = None
    if StockReason.RUNS_SHORT_BEFORE_ARRIVAL in [reason.code for reason in line.reasons]:
        same = [item.offer for item, _cost in ranked[1:] if item.currency == first.currency]
        quicker = find_quicker_offer(first.offer, same)
    return (
        format_offer_choice(costs, currency=currency, is_untried=line.is_untried),
        None if quicker is None else format_quicker_offer(quicker, currency=currency),
    )
