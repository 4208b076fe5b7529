"""Everything known of an interchange group at one location: what the low-stock list is made from."""

from dataclasses import dataclass
from datetime import date

from kb.errors import BadInput
from kb.rules.reorder.demand_class import DemandPattern
from kb.rules.reorder.demand_rate import DemandRate
from kb.rules.reorder.equivalents import Member
from kb.rules.reorder.level import DEFAULT_REVIEW_DAYS, ServiceTarget
from kb.rules.reorder.lot_size import LotCosts
from kb.rules.reorder.season import FLAT_SEASON, SeasonIndex
from kb.rules.reorder.stock_line import StockUnit, StockWarning


@dataclass(frozen=True, slots=True)
class OpenOrder:
    """Pieces of the group on order, and the day they are promised for (None = not said)."""

    quantity: int
    due_on: date | None


@dataclass(frozen=True, slots=True)
class GroupDemand:
    """What is known of the demand of a group; ``new_only_rate`` for a supersession that goes one way only.

    Then the members that are not orderable serve only what old and new number serve alike.
    """

    rate: DemandRate | None
    season: SeasonIndex = FLAT_SEASON
    pattern: DemandPattern | None = None
    new_only_rate: DemandRate | None = None


DEFAULT_TARGET = ServiceTarget()


@dataclass(frozen=True, slots=True)
class StockPolicy:
    """What the shop asks for: service, review interval, a level set by hand, costs of lines and holding."""

    target: ServiceTarget = DEFAULT_TARGET
    review_days: int = DEFAULT_REVIEW_DAYS
    lead_time_sd_days: float = 0.0
    manual_level: int | None = None
    lot_costs: LotCosts | None = None


DEFAULT_POLICY = StockPolicy()


@dataclass(frozen=True, slots=True)
class StockGroup:
    """An interchange group at one location; a part without equivalents is a group of one."""

    members: tuple[Member, ...]
    demand: GroupDemand
    policy: StockPolicy = DEFAULT_POLICY
    open_orders: tuple[OpenOrder, ...] = ()
    unit: StockUnit = StockUnit.PIECE
    unit_margin_minor: int | None = None
    warnings: tuple[StockWarning, ...] = ()

    def __post_init__(self) -> None:
        """Refuse a group without a member."""
        if not self.members:
            message = "An interchange group without a part has no stock; give at least one part."
            raise BadInput(message, field="members")
