"""What a line of the low-stock list says: figures, reasons and warnings, all of them values.

The script and the person act on the reasons, not on the figures alone.
"""

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from kb.rules.reorder.demand_class import DemandPattern
from kb.rules.reorder.demand_rate import DemandRate
from kb.rules.reorder.level import ServiceTarget
from kb.terms import Certainty


class StockUnit(StrEnum):
    """What one unit of stock is; a roller set is one unit, not six."""

    PIECE = "piece"
    SET = "set"


class StockList(StrEnum):
    """The list a line stands in: to order, or to ask the supplier about."""

    ORDER = "order"
    CHASE = "chase"


class StockReason(StrEnum):
    """Why a line says what it says."""

    OUT_OF_STOCK = "out_of_stock"
    AVAILABLE_NEGATIVE = "available_negative"
    AT_OR_BELOW_REORDER_POINT = "at_or_below_reorder_point"
    NEW_NUMBER_SHORT = "new_number_short"
    ROUNDED_TO_PACK = "rounded_to_pack"
    LOWER_PRICE = "lower_price"
    LARGER_LOT = "larger_lot"
    RUNS_SHORT_BEFORE_ARRIVAL = "runs_short_before_arrival"
    ORDER_LATE = "order_late"
    COVERED_BY_EQUIVALENT = "covered_by_equivalent"
    SUPERSEDED_SELL_DOWN = "superseded_sell_down"
    NO_HISTORY = "no_history"
    WAITING_FOR_SUPPLIER_MINIMUM = "waiting_for_supplier_minimum"
    MANUAL_LEVEL = "manual_level"
    LEAD_TIME_NOT_KNOWN = "lead_time_not_known"
    DEMAND_NOT_KNOWN = "demand_not_known"


class StockWarning(StrEnum):
    """What a reader should know before trusting the figures."""

    STOCK_OUT_MONTHS = "stock_out_months"
    EXCLUDED_DEMAND = "excluded_demand"
    LEVEL_CAPPED = "level_capped"
    LOT_CAPPED = "lot_capped"
    PACK_BEYOND_A_YEAR = "pack_beyond_a_year"
    MOSTLY_BORROWED_RATE = "mostly_borrowed_rate"


@dataclass(frozen=True, slots=True)
class StockCount:
    """Where the pieces of a group are; ``earliest_arrival`` and ``late_days`` from its open orders."""

    on_hand: int
    committed: int
    on_order: int
    earliest_arrival: date | None
    late_days: int

    @property
    def available(self) -> int:
        """Pieces the counter can sell now."""
        return self.on_hand - self.committed

    @property
    def position(self) -> int:
        """The figure compared with the reorder point."""
        return self.available + self.on_order


@dataclass(frozen=True, slots=True)
class LevelFigures:
    """Level, reorder point and what they promise; None where the demand is not known."""

    level: int | None
    reorder_point: int | None
    service: ServiceTarget
    fill_rate: float | None
    is_capped: bool = False
    is_manual: bool = False


@dataclass(frozen=True, slots=True)
class Cover:
    """How long the pieces last against how long the supplier takes."""

    daily_rate: float | None
    days_of_cover: float | None
    expected_empty_on: date | None
    lead_time_days: int | None
    arrives_if_ordered_today: date | None
    chance_short: float | None


@dataclass(frozen=True, slots=True)
class OrderFigures:
    """What to order: the raw need, and the quantity after minimum, pack, break and cap.

    ``needs_person`` is true when the program may suggest but never order by itself.
    """

    raw_need: int
    quantity: int
    supplier: str | None
    unit_price_minor: int | None
    is_lot_capped: bool = False
    is_pack_beyond_a_year: bool = False
    needs_person: bool = False


@dataclass(frozen=True, slots=True)
class Reason:
    """A reason with its sentence."""

    code: StockReason
    text: str


@dataclass(frozen=True, slots=True)
class StockLine:
    """One line: the part to order (or to look at), what is counted with it, and all its figures."""

    maker: str
    part_number: str
    pooled_with: tuple[tuple[str, str], ...]
    unit: StockUnit
    listed_on: StockList | None
    stock: StockCount
    target: LevelFigures
    cover: Cover
    order: OrderFigures
    rate: DemandRate | None
    pattern: DemandPattern | None
    unit_margin_minor: int | None
    warnings: tuple[StockWarning, ...]
    reasons: tuple[Reason, ...]
    certainty: Certainty
    text: str

    @property
    def is_untried(self) -> bool:
        """Whether nobody asked for the part yet, no level is set by hand and no job waits for it."""
        return (
            self.rate is not None
            and self.rate.own_months == 0.0
            and not self.target.is_manual
            and self.stock.available >= 0
        )
