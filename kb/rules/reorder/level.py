"""How many pieces to hold, when to order, and what share of the demand that serves from the shelf."""

from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from math import ceil

from kb.errors import BadInput
from kb.rules.reorder.demand_rate import DemandRate, compute_demand_over
from kb.rules.reorder.negative_binomial import (
    Demand,
    check_service,
    compute_expected_short,
    compute_quantile,
    list_cumulative,
)
from kb.rules.reorder.season import SeasonIndex, compute_exposure_ahead

DAYS_PER_MONTH = 365.25 / 12.0
COVER_CAP_MONTHS = 12.0
FAST_MOVER_RATE_PER_MONTH = 1.0
# A pack that lasts longer is nothing to order without a question.
LONGEST_PACK_MONTHS = 24.0
DEFAULT_REVIEW_DAYS = 7
DEFAULT_SERVICE = 0.95


class ServiceKind(StrEnum):
    """What a service figure counts: order cycles without a shortage, or pieces served from the shelf."""

    NO_SHORTAGE = "no_shortage"
    FILL_RATE = "fill_rate"


@dataclass(frozen=True, slots=True)
class ServiceTarget:
    """The service asked for, as a share 0 … 1."""

    share: float = DEFAULT_SERVICE
    kind: ServiceKind = ServiceKind.NO_SHORTAGE


@dataclass(frozen=True, slots=True)
class ProtectionTime:
    """Days that a level must last: from one chance to order to the next, and the supplier's lead time."""

    lead_time_days: int
    review_days: int = DEFAULT_REVIEW_DAYS
    lead_time_sd_days: float = 0.0

    @property
    def days(self) -> int:
        """Review interval and lead time together."""
        return self.review_days + self.lead_time_days


@dataclass(frozen=True, slots=True)
class DemandAhead:
    """Demand until an order placed today arrives, and until one placed at the next review arrives."""

    lead_time: Demand
    protection: Demand


@dataclass(frozen=True, slots=True)
class StockLevel:
    """Pieces to order up to, the position at which to order, and whether the cover cap cut the level."""

    level: int
    reorder_point: int
    is_capped: bool
    fill_rate: float | None


def add_lead_time_variance(demand: Demand, rate_per_month: float, *, lead_time_sd_months: float) -> Demand:
    """The demand with the variance that an unsteady supplier adds: rate² · variance of the lead time.

    Source: from memory: Silver, Pyke & Thomas, Inventory and Production Management in Supply Chains.

    Example:
        >>> add_lead_time_variance(Demand(7.5, 10.5), 3.0, lead_time_sd_months=0.5)
        Demand(mean=7.5, variance=12.75)
    """
    added = rate_per_month * rate_per_month * lead_time_sd_months * lead_time_sd_months
    return Demand(demand.mean, demand.variance + added)


def compute_demand_ahead(
    rate: DemandRate, protection: ProtectionTime, *, season: SeasonIndex, today: date
) -> DemandAhead:
    """Demand over the lead time and over the protection time from today on, with the season ahead."""
    demands = []
    sd_months = protection.lead_time_sd_days / DAYS_PER_MONTH
    for days in (protection.lead_time_days, protection.days):
        exposure = compute_exposure_ahead(season, today, days=days)
        demand = compute_demand_over(rate, exposure)
        demands.append(
            add_lead_time_variance(demand, rate.rate_per_month, lead_time_sd_months=sd_months)
            if demand.mean > 0.0
            else demand
        )
    return DemandAhead(*demands)


def compute_level(demand: Demand, service: float, *, pack: int = 1) -> int:
    """Smallest level that covers the demand with the given probability, ordered in whole packs.

    With packs the position after ordering lies anywhere from the level to level + pack - 1, so the
    level is the smallest T whose mean of P(D <= T + j), j = 0 … pack - 1, reaches the service.

    Args:
        demand: over the protection time [pieces].
        service: probability, above 0 up to 0.9999.
        pack: pieces in a pack, from 1.

    Returns:
        Pieces, never above the level for single pieces. 0 = not worth stocking.

    Source: from memory: uniform position of the (R, s, nQ) policy; the formula is worked out from it.

    Example:
        >>> compute_level(Demand(1.5, 3.0), 0.95), compute_level(Demand(1.5, 3.0), 0.95, pack=5)
        (5, 3)
    """
    if pack < 1:
        raise BadInput(f"Pack of '{pack}' is not usable; a pack holds 1 piece or more.", field="pack")
    plain = compute_quantile(demand, service)
    if pack == 1 or plain == 0:
        return plain
    lowest = max(plain - pack + 1, 0)
    at_most = list_cumulative(demand, lowest, last=plain + pack - 1)
    window = sum(at_most[:pack])
    for offset in range(plain - lowest):
        if window >= service * pack:
            return lowest + offset
        window += at_most[offset + pack] - at_most[offset]
    return plain


def compute_fill_rate(level: int, lead_time: Demand, *, protection: Demand) -> float | None:
    """Share of the pieces asked for that a level serves from the shelf, shortages being waited for.

    fill = 1 - (E[(D_h - T)+] - E[(D_L - T)+]) / mean demand between two reviews.

    Args:
        level: order-up-to level T [pieces].
        lead_time: demand over the lead time L.
        protection: demand over review interval and lead time h.

    Returns:
        Share 0 … 1; None when no demand is expected between two reviews.

    Source: from memory: Silver, Pyke & Thomas; Snyder & Shen (fill rate under periodic review).

    Example:
        >>> round(compute_fill_rate(6, Demand(1.0, 1.5), protection=Demand(1.5, 2.4)), 4)
        0.9719
    """
    between_reviews = protection.mean - lead_time.mean
    if between_reviews <= 0.0:
        return None
    short = compute_expected_short(protection, level) - compute_expected_short(lead_time, level)
    return min(max(1.0 - short / between_reviews, 0.0), 1.0)


def compute_level_for_fill_rate(fill_rate: float, lead_time: Demand, *, protection: Demand) -> int:
    """Smallest level that serves the given share of pieces from the shelf; at least 1 when any is asked for.

    Example:
        >>> compute_level_for_fill_rate(0.95, Demand(1.0, 1.5), protection=Demand(1.5, 2.4))
        6
    """
    check_service(fill_rate)

    def is_enough(level: int) -> bool:
        reached = compute_fill_rate(level, lead_time, protection=protection)
        return reached is None or reached >= fill_rate

    too_low, enough = -1, 0
    while not is_enough(enough):
        too_low, enough = enough, 2 * enough + 1
    while enough - too_low > 1:
        middle = (too_low + enough) // 2
        too_low, enough = (too_low, middle) if is_enough(middle) else (middle, enough)
    return enough


def compute_stock_level(
    ahead: DemandAhead,
    target: ServiceTarget,
    *,
    pack: int = 1,
    rate_per_month: float = 0.0,
) -> StockLevel:
    """Level, reorder point and fill rate for a target; the level of a fast mover is cut at a year's demand.

    Args:
        ahead: demand over lead time and protection time.
        target: what share of what.
        pack: pieces in a pack.
        rate_per_month: pieces a month; from 1 on the level is cut at twelve times of it.

    Returns:
        The level. A part that is worth a piece singly, and sells a pack in two years, keeps the level 1: at
        level 0 it would be ordered only once somebody waits for it, and at a counter few wait.

    Source: the least level of 1 is a judgement of this project; the cap is common practice, no source.
    Slow parts are left out of it: one piece of them is more than a year's demand anyway, and on real
    car-parts sales a cap on all parts took 2.5 % of the pieces served (service 98 %, lead time two months).
    """
    if target.kind is ServiceKind.FILL_RATE:
        wanted = compute_level_for_fill_rate(target.share, ahead.lead_time, protection=ahead.protection)
    else:
        wanted = compute_level(ahead.protection, target.share, pack=pack)
        if wanted == 0 and 1 < pack <= LONGEST_PACK_MONTHS * rate_per_month:
            wanted = min(compute_level(ahead.protection, target.share), 1)
    level = wanted
    if rate_per_month >= FAST_MOVER_RATE_PER_MONTH:
        level = min(wanted, ceil(COVER_CAP_MONTHS * rate_per_month))
    fill = compute_fill_rate(level, ahead.lead_time, protection=ahead.protection)
    return StockLevel(level, level - 1, level < wanted, fill)
