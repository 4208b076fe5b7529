"""How many pieces to put on an order line: economic quantity, price breaks, minimum, whole packs, caps.

Prices are whole minor units (cents) of one currency. Yearly costs are expectations, not sums of
money, and stay fractions of minor units; they serve to compare choices.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, floor, sqrt

from kb.errors import BadInput

LOT_CAP_MONTHS = 6.0
PACK_CAP_MONTHS = 12.0


@dataclass(frozen=True, slots=True)
class LotCosts:
    """What one more order line costs, and what holding costs a year as a share of the value held.

    ``line_cost_minor`` is the work of one line (minutes at the counter), not freight.
    """

    line_cost_minor: int
    holding_rate_per_year: float


@dataclass(frozen=True, slots=True)
class EconomicLot:
    """The quantity at which ordering and holding cost the same, and both together in a year."""

    quantity: float
    cost_per_year_minor: float


@dataclass(frozen=True, slots=True)
class PriceBreak:
    """From this many pieces on, all pieces of the line cost this much each."""

    from_quantity: int
    unit_price_minor: int


@dataclass(frozen=True, slots=True)
class PriceChoice:
    """One price band with its best quantity; yearly cost of pieces, lines and holding together."""

    band: int
    quantity: float
    unit_price_minor: int
    cost_per_year_minor: float


@dataclass(frozen=True, slots=True)
class Packing:
    """How a supplier sells a part: pieces in a pack, and the fewest pieces of a line."""

    pack: int = 1
    minimum_quantity: int = 0

    def __post_init__(self) -> None:
        """Refuse a pack without a piece."""
        if self.pack < 1 or self.minimum_quantity < 0:
            message = (
                f"Packing of {self.pack} pieces with a minimum of {self.minimum_quantity} is not usable; "
                "a pack holds 1 piece or more, a minimum is 0 or more."
            )
            raise BadInput(message, field="pack")


SINGLE_PIECES = Packing()


@dataclass(frozen=True, slots=True)
class LotSize:
    """Pieces to order, whether the cap on cover cut them, and whether pack or minimum goes beyond the cap."""

    quantity: int
    is_capped: bool
    is_beyond_cover_cap: bool


def compute_economic_lot(
    demand_per_year: float, line_cost_minor: float, *, holding_per_piece_year_minor: float
) -> EconomicLot:
    """Economic order quantity √(2·K·D/h) and its yearly cost √(2·K·D·h).

    Args:
        demand_per_year: D [pieces a year], from 0.
        line_cost_minor: K, cost of one more order line [minor units].
        holding_per_piece_year_minor: h, cost of one piece held for a year [minor units], above 0.

    Source: published: Snyder & Shen, Fundamentals of Supply Chain Theory, 2nd ed., Wiley 2019, Example 3.1.

    Example:
        >>> round(compute_economic_lot(1300, 800, holding_per_piece_year_minor=22.5).quantity, 2)
        304.05
    """
    if holding_per_piece_year_minor <= 0.0:
        message = (
            f"Holding cost '{holding_per_piece_year_minor}' is not usable; "
            "write what one piece held for a year costs, above 0."
        )
        raise BadInput(message, field="holding_per_piece_year_minor")
    doubled = 2.0 * line_cost_minor * demand_per_year
    return EconomicLot(
        sqrt(doubled / holding_per_piece_year_minor), sqrt(doubled * holding_per_piece_year_minor)
    )


def rank_price_breaks(
    breaks: Sequence[PriceBreak], demand_per_year: float, *, costs: LotCosts
) -> list[PriceChoice]:
    """The price bands worth comparing, cheapest year first.

    In each band the better of the band's start and the economic quantity at its price counts; a band
    whose economic quantity lies past its end is dropped, the next band is cheaper.

    Args:
        breaks: bands in rising order of quantity; the first one starts at 0 or 1.
        demand_per_year: pieces a year, above 0.
        costs: cost of a line and of holding.

    Source: published: Snyder & Shen, 2nd ed., Example 3.5 (discount on all units).

    Example:
        >>> bands = [PriceBreak(0, 75), PriceBreak(400, 72), PriceBreak(800, 68)]
        >>> rank_price_breaks(bands, 1300, costs=LotCosts(800, 0.3))[0].quantity
        800.0
    """
    choices = []
    for band, price_break in enumerate(breaks):
        price = price_break.unit_price_minor
        lot = compute_economic_lot(
            demand_per_year,
            costs.line_cost_minor,
            holding_per_piece_year_minor=costs.holding_rate_per_year * price,
        )
        quantity = max(float(price_break.from_quantity), lot.quantity)
        if band + 1 < len(breaks) and quantity >= breaks[band + 1].from_quantity:
            continue
        cost = price * demand_per_year
        cost += costs.line_cost_minor * demand_per_year / quantity
        cost += costs.holding_rate_per_year * price * quantity / 2.0
        choices.append(PriceChoice(band, quantity, price, cost))
    return sorted(choices, key=lambda choice: choice.cost_per_year_minor)


def find_unit_price(breaks: Sequence[PriceBreak], quantity: int) -> int | None:
    """Price of a piece [minor units] when so many are ordered; None below the first band."""
    prices = [band.unit_price_minor for band in breaks if band.from_quantity <= quantity]
    return prices[-1] if prices else None


def compute_packed_quantity(raw: int, packing: Packing) -> int:
    """Pieces to order for a raw need: nothing for none, else at least the minimum, in whole packs.

    Example:
        >>> compute_packed_quantity(7, Packing(pack=5)), compute_packed_quantity(7, Packing(5, 12))
        (10, 15)
        >>> compute_packed_quantity(0, Packing(5, 12))
        0
    """
    if raw <= 0:
        return 0
    return ceil(max(raw, packing.minimum_quantity) / packing.pack) * packing.pack


def compute_lot_size(
    raw: int,
    packing: Packing,
    *,
    economic_quantity: float,
    demand_per_month: float,
) -> LotSize:
    """Pieces of a line: the need or the economic lot if larger, in whole packs, within the caps on cover.

    Args:
        raw: pieces needed to reach the level; what is needed is never cut.
        packing: pack and minimum of the supplier.
        economic_quantity: economic or price-break quantity [pieces]; 0 = order the need only.
        demand_per_month: pieces a month.

    Returns:
        The economic quantity counts up to 6 months' demand; whole packs may bring the line to 12
        months. When the need in whole packs is beyond that, it stands and says so.

    Source: the caps are common practice, no source.

    Example:
        >>> compute_lot_size(3, Packing(pack=5), economic_quantity=40.0, demand_per_month=2.0)
        LotSize(quantity=15, is_capped=True, is_beyond_cover_cap=False)
    """
    if raw <= 0:
        return LotSize(0, is_capped=False, is_beyond_cover_cap=False)
    least = compute_packed_quantity(raw, packing)
    wanted = compute_packed_quantity(max(raw, round(economic_quantity)), packing)
    capped_lot = max(raw, min(round(economic_quantity), floor(LOT_CAP_MONTHS * demand_per_month)))
    quantity = compute_packed_quantity(capped_lot, packing)
    most = PACK_CAP_MONTHS * demand_per_month
    if quantity > most:
        quantity = max(least, floor(most / packing.pack) * packing.pack)
    return LotSize(quantity, is_capped=quantity < wanted, is_beyond_cover_cap=quantity > max(most, raw))
