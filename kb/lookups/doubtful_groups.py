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
    singles: list[Group] = []
    pools: list[Group] = []
    special: list[Group] = []
    for group in shelf.list_groups():
        if not search.special.isdisjoint(group):
            special.append(group)
        elif not search.is_surely_enough(group):
            (singles if len(group) == 1 else pools).append(group)
    shelf.history.read_months([part_id for group in singles + pools for part_id in group])
    short = [group for group in singles if search.is_short(group)]
    return special + short + [group for group in pools if search.is_pool_short(group)]


class _Search:
    """The bounds of each part type and wait, made when first asked for."""

    def __init__(self, shelf: ShelfDemand, *, service: float, review_days: int) -> None:
        self.shelf, self.service, self.review_days = shelf, service, review_days
        stocked = shelf.stocked
        # Their demand alone does not decide, or their shelf was empty at some time.
        self.special = stocked.emptied | stocked.manual_levels.keys() | stocked.open_orders.keys()
        self._looks: dict[tuple[str, int], tuple[QuickLook, TypeHistory, float]] = {}

    def is_surely_enough(self, group: Group) -> bool:
        """Whether a group, and its orderable members alone, surely have enough; a guess on the safe side."""
        shelf = self.shelf
        if len(group) == 1:  # nearly all of the shelf: nothing is added up
            part_id = group[0]
            on_hand, committed = shelf.stocked.levels.get(part_id, (0, 0))
            if on_hand <= committed and self._may_lack_time(group):
                return False
            kind = (shelf.types[part_id], shelf.lead_times.get(part_id, 0))
            known = shelf.own_sums.get(part_id)
            start, pieces, most = known[1:] if known else (self._get_start(part_id), 0.0, 0)
            return self._is_surely_enough(kind, on_hand - committed, start, pieces=pieces, most=most)
        new = [part_id for part_id in group if part_id not in shelf.stocked.not_orderable]
        return bool(new) and self._are_surely_enough(new) and self._are_surely_enough(group)

    def is_pool_short(self, group: Group) -> bool:
        """Whether a group of several parts may be short, all together or its orderable members alone."""
        new = [part for part in group if part not in self.shelf.stocked.not_orderable]
        return not new or self.is_short(group) or (len(new) < len(group) and self.is_short(new))

    def is_short(self, parts: Sequence[int]) -> bool:
        """Whether the position fails the service asked for over the longest wait.

        More days make the demand larger in distribution, single pieces the level: so the longest wait in
        single pieces leaves nothing out.
        """
        position = sum(self.shelf.stocked.compute_position(part) for part in parts)
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
        return self._is_surely_enough(self._get_kind(parts), position, start, pieces=pieces, most=most)

    def _is_surely_enough(
        self, kind: tuple[str, int], position: int, start: int, *, pieces: float, most: int
    ) -> bool:
        look, history, lowest_factor = self._looks.get(kind) or self._get_look(kind)
        # The most pieces of a month times all pieces is never less than the sum of squares.
        squares = pieces * most / lowest_factor
        return look.is_surely_enough(position, pieces, squares, history.compute_weights(start))

    def _may_lack_time(self, parts: Sequence[int]) -> bool:
        """Whether the offer chosen may name no time; then one piece is kept, whatever the demand ahead."""
        shelf = self.shelf
        return not shelf.untimed.isdisjoint(parts) or not all(part in shelf.lead_times for part in parts)

    def _get_start(self, part_id: int) -> int:
        """Month in which a part that nobody asked for was first counted; the coming one if never."""
        return self.shelf.first_counts.get(part_id, self.shelf.history.last_month + 1)

    def _get_kind(self, parts: Sequence[int]) -> tuple[str, int]:
        return self.shelf.types[parts[0]], max(self.shelf.lead_times.get(part, 0) for part in parts)

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
