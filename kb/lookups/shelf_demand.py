"""What a shelf holds and what was asked for of it: parts that stand in for each other as one, part types.

Sums of history are those of ``kb.rules.reorder.demand_rate``.
"""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from datetime import date
from functools import cached_property

from sqlmodel import Session

from kb.lookups.demand_history import DemandHistory
from kb.lookups.locations import get_location
from kb.lookups.stocked_parts import ShelfScope, StockedParts, read_part_types, read_stocked_parts
from kb.lookups.supplier_offers import find_lead_times
from kb.rules.reorder.demand_rate import NO_HISTORY, DemandSums, PartTypePrior, fit_part_type_prior

# A part type's prior is fitted on so many groups at most: more of them change nothing that matters.
GROUPS_OF_PRIOR = 250


class ShelfDemand:
    """What a shelf holds and what was asked for of it, read once."""

    def __init__(self, session: Session, location: str | None, as_of: date) -> None:
        self.session = session
        self.scope = get_scope(session, location)
        self.stocked: StockedParts = read_stocked_parts(session, self.scope)
        self.types = read_part_types(session)
        self.history = DemandHistory(session, self.scope.location_id, as_of)
        self.own_sums = self.history.read_sums()
        self.first_counts = self.history.read_first_counts()
        self.lead_times, self.untimed = find_lead_times(session)
        self._sums: dict[tuple[int, ...], DemandSums] = {}
        self._groups: list[tuple[int, ...]] | None = None

    def list_groups(self) -> list[tuple[int, ...]]:
        """Groups with a part that is kept here or was asked for here."""
        if self._groups is None:
            kept = self.stocked.levels.keys() | self.stocked.manual_levels.keys()
            kept |= self.stocked.open_orders.keys() | self.own_sums.keys()
            alone = [(part_id,) for part_id in sorted(kept) if part_id not in self.stocked.groups]
            pooled = {self.stocked.groups[part_id] for part_id in kept if part_id in self.stocked.groups}
            self._groups = alone + sorted(pooled)
        return self._groups

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
            part_type: fit_part_type_prior([self.pool(group) for group in groups])
            for part_type, groups in chosen.items()
        }

    def pool(self, parts: Sequence[int], *, shares: Mapping[int, float] | None = None) -> DemandSums:
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

    def join_months(self, parts: Sequence[int], months: Mapping[int, Mapping[int, int]]) -> Mapping[int, int]:
        """Pieces by month of several parts together."""
        if len(parts) == 1:
            return months.get(parts[0], {})
        together: dict[int, int] = defaultdict(int)
        for part_id in parts:
            for month, pieces in months.get(part_id, {}).items():
                together[month] += pieces
        return together

    def find_start(self, parts: Sequence[int], months: Mapping[int, int]) -> int | None:
        """First month on sale: the first one asked for, else the first one counted."""
        counts = self.first_counts
        counted = [counts[part_id] for part_id in parts if part_id in counts]
        return min([*months, *counted] if counted else months, default=None)


def get_scope(session: Session, location: str | None) -> ShelfScope:
    """The place with this name, or all places as one."""
    if location is None:
        return ShelfScope(None, None)
    found = get_location(session, location)
    return ShelfScope(found.id, found.location)
