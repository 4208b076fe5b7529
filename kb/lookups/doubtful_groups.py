"""The parts of a shelf that may be low, found without judging each: the rest surely has enough.

Most parts are far from their reorder point. A bound (see ``kb.rules.reorder.quick_look``) puts them aside;
what it leaves is looked at over the longest wait of any supplier, in single pieces, which leaves out none.
"""

from collections.abc import Sequence

from kb.lookups.demand_history import NO_PRIOR, TypeHistory
from kb.lookups.shelf_demand import ShelfDemand
from kb.rules.reorder.demand_rate import DemandSums, compute_demand_over, compute_demand_rate
from kb.rules.reorder.negative_binomial import compute_probability_at_most
from kb.rules.reorder.quick_look import QuickLook
from kb.rules.reorder.season import compute_exposure_ahead

Group = tuple[int, ...]


def list_doubtful_groups(shelf: ShelfDemand, *, service: float, review_days: int) -> list[Group]:
    """All groups but those that are surely above their reorder point and wait for no order."""
    search = _Search(shelf, service=service, review_days=review_days)
    singles, pools = search.list_loose_singles(), search.list_loose_pools()
    shelf.history.read_months([part_id for group in singles + pools for part_id in group])
    special = search.special
    return [
        *(group for group in singles if group[0] in special or search.is_short(group)),
        *(group for group in pools if not special.isdisjoint(group) or search.is_pool_short(group)),
    ]


class _Search:
    """The bounds of each part type and wait, made when first asked for."""

    def __init__(self, shelf: ShelfDemand, *, service: float, review_days: int) -> None:
        self.shelf, self.service, self.review_days = shelf, service, review_days
        stocked = shelf.stocked
        # Their demand alone does not decide, or their shelf was empty at some time.
        self.special = stocked.emptied | stocked.manual_levels.keys() | stocked.open_orders.keys()
        self._looks: dict[tuple[str, int], tuple[QuickLook, TypeHistory, float]] = {}

    def list_loose_singles(self) -> list[Group]:
        """Parts without equals that are special or do not surely have enough.

        They are nearly all of a shelf, so everything is at hand in one loop and nothing is added up.
        """
        shelf, special, looks = self.shelf, self.special, self._looks
        types, lead_times, levels = shelf.types, shelf.lead_times, shelf.stocked.levels
        loose = []
        for group in shelf.list_groups():
            if len(group) > 1:
                continue
            part_id = group[0]
            on_hand, committed = levels.get(part_id, (0, 0))
            known = shelf.own_sums.get(part_id) or (part_id, self._get_start(part_id), 0.0, 0)
            kind = (types[part_id], lead_times.get(part_id, 0))
            look, history, lowest_factor = looks.get(kind) or self._get_look(kind)
            _, start, pieces, most = known
            # The most pieces of a month times all pieces is never less than the sum of squares.
            squares, own = pieces * most / lowest_factor, history.compute_weights(start)
            if (
                not look.is_surely_enough(on_hand - committed, pieces, squares, own)
                or part_id in special
                or (on_hand <= committed and self._may_lack_time(group))
            ):
                loose.append(group)
        return loose

    def list_loose_pools(self) -> list[Group]:
        """Groups of several parts that are special or do not surely have enough.

        Neither all together nor the orderable ones alone; a group without an orderable part has to be looked
        at in any case.
        """
        loose = []
        for group in self.shelf.list_groups():
            if len(group) == 1:
                continue
            new = [part_id for part_id in group if part_id not in self.shelf.stocked.not_orderable]
            is_enough = bool(new) and self._are_surely_enough(new) and self._are_surely_enough(group)
            if not is_enough or not self.special.isdisjoint(group):
                loose.append(group)
        return loose

    def is_pool_short(self, group: Group) -> bool:
        """Whether a group of several parts may be short, all together or its orderable members alone."""
        new = [part for part in group if part not in self.shelf.stocked.not_orderable]
        return not new or self.is_short(group) or (len(new) < len(group) and self.is_short(new))

    def is_short(self, parts: Sequence[int]) -> bool:
        """Whether the position fails the service asked for over the longest wait.

        More days make the demand larger in distribution, single pieces the level: so the longest wait in
        single pieces leaves nothing out.
        """
        position = sum([self.shelf.stocked.compute_position(part) for part in parts])
        if position < 0 or (position == 0 and self._may_lack_time(parts)):
            return True
        sums: DemandSums = self.shelf.pool(parts)
        look, _history, _factor = self._get_look(self._get_kind(parts))
        own = (sums.exposure_months, sums.months)
        if look.is_surely_enough(position, sums.pieces, sums.squares, own):
            return False
        demand = compute_demand_over(compute_demand_rate(sums, look.prior), look.exposure_ahead_months)
        return demand.mean > 0 and compute_probability_at_most(demand, position) < look.service

    def _are_surely_enough(self, parts: Sequence[int]) -> bool:
        position = sum(self.shelf.stocked.compute_position(part) for part in parts)
        if position <= 0 and self._may_lack_time(parts):
            return False
        known = [self.shelf.own_sums[part] for part in parts if part in self.shelf.own_sums]
        start = min([row[1] for row in known] + [self._get_start(part) for part in parts])
        pieces, most = sum(row[2] for row in known), sum(row[3] for row in known)
        look, history, lowest_factor = self._get_look(self._get_kind(parts))
        squares, own = pieces * most / lowest_factor, history.compute_weights(start)
        return look.is_surely_enough(position, pieces, squares, own)

    def _may_lack_time(self, parts: Sequence[int]) -> bool:
        """Whether the offer chosen may name no time; then one piece is kept, whatever the demand ahead."""
        shelf = self.shelf
        return not shelf.untimed.isdisjoint(parts) or not all(part in shelf.lead_times for part in parts)

    def _get_start(self, part_id: int) -> int:
        """Month in which a part that nobody asked for was first counted; the coming one if never."""
        return self.shelf.first_counts.get(part_id, self.shelf.history.last_month + 1)

    def _get_kind(self, parts: Sequence[int]) -> tuple[str, int]:
        return self.shelf.types[parts[0]], max([self.shelf.lead_times.get(part, 0) for part in parts])

    def _get_look(self, kind: tuple[str, int]) -> tuple[QuickLook, TypeHistory, float]:
        if kind not in self._looks:
            part_type, lead_time_days = kind
            shelf = self.shelf
            history = shelf.history.get_type(part_type)
            days = lead_time_days + self.review_days
            exposure = compute_exposure_ahead(history.season, shelf.history.as_of, days=days)
            look = QuickLook(shelf.priors.get(part_type, NO_PRIOR), exposure, self.service)
            self._looks[kind] = (look, history, history.lowest_factor)
        return self._looks[kind]
