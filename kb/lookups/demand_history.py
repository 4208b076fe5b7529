"""What was asked for in the months before a day, as the forecast wants it.

Sums of single parts are made by the database, one pass over the months. The weight of a month is its
discount; its exposure is the season factor of the part type, from the part's first month on.
"""

from collections import defaultdict
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from itertools import accumulate
from typing import Any

from sqlalchemy import ColumnElement, Float, UnaryExpression, case, func, select
from sqlalchemy.sql.operators import custom_op
from sqlmodel import Session

from kb.lookups.shelf import is_among, iterate_rows
from kb.rules.reorder.demand_rate import (
    DECAY_PER_MONTH,
    NO_HISTORY,
    DemandSums,
    compute_demand_sums,
    fit_part_type_prior,
)
from kb.rules.reorder.season import FLAT_SEASON, SeasonIndex, compute_season_index
from kb.tables.columns import get_table
from kb.tables.demand_rows import count_month

# Months further back weigh less than a hundredth of a piece: 0.9 ** 120 < 0.000004.
MONTHS_READ = 120
NO_PRIOR = fit_part_type_prior([])


@dataclass(frozen=True, slots=True)
class TypeHistory:
    """A part type: its season, and what exposure and months weigh for a part that began in a given month.

    ``piece_weights`` and ``square_weights`` are the weights by month, oldest first.
    """

    season: SeasonIndex
    first_month: int
    exposure_from: tuple[float, ...]
    months_from: tuple[float, ...]
    piece_weights: tuple[float, ...]
    square_weights: tuple[float, ...]

    @property
    def lowest_factor(self) -> float:
        """Factor of the calendar month with the least demand."""
        return max(min(self.season.factors), 0.05)

    def compute_sums(self, months: Mapping[int, int], start_month: int) -> DemandSums:
        """Sums of a part always on sale: ``compute_demand_sums`` over its few months with demand."""
        exposure, weighted_months = self.compute_weights(start_month)
        pieces = squares = 0.0
        first, piece_weights, square_weights = self.first_month, self.piece_weights, self.square_weights
        for month, asked in months.items():
            pieces += asked * piece_weights[month - first]
            squares += asked * asked * square_weights[month - first]
        return DemandSums(pieces, exposure, squares, weighted_months)

    def compute_weights(self, start_month: int) -> tuple[float, float]:
        """Discounted exposure and discounted months from a month on; nothing for a month to come."""
        place = max(start_month - self.first_month, 0)
        if place >= len(self.exposure_from):
            return 0.0, 0.0
        return self.exposure_from[place], self.months_from[place]


def has_power(session: Session) -> bool:
    """Whether this is an SQLite that was built with its functions of mathematics."""
    if session.get_bind().dialect.name != "sqlite":
        return False
    option = func.sqlite_compileoption_used("ENABLE_MATH_FUNCTIONS")
    return bool(session.execute(select(option)).scalar_one())


class DemandHistory:
    """History before a day, at one location or at all of them as one."""

    def __init__(self, session: Session, location_id: int | None, as_of: date) -> None:
        self.session = session
        self.location_id = location_id
        self.as_of = as_of
        self.last_month = count_month(as_of) - 1
        self.first_month = self.last_month - MONTHS_READ + 1
        self.types = self._read_types()
        self._flat = self._build_type(FLAT_SEASON)
        self._months: dict[int, dict[int, int]] = {}

    def get_type(self, part_type: str) -> TypeHistory:
        """The part type; flat where nothing of it was ever asked for."""
        return self.types.get(part_type, self._flat)

    def read_sums(self) -> dict[int, tuple[int, int, float, int]]:
        """Part, first month, discounted pieces and most pieces of a month, of every part asked for.

        Sums of squares, too, would take half as long again; what is there gives a bound of them.
        """
        month = self._select_months().subquery().c
        statement = (
            select(
                month.part_id,
                func.min(month.month),
                func.sum(month.pieces * self._build_weight(month.month)),
                func.max(month.pieces),
            )
            .where(month.pieces > 0)
            .group_by(month.part_id)
        )
        # The driver's rows are kept as they are: a hundred thousand new tuples take their time.
        return {row[0]: row for row in iterate_rows(self.session, statement)}

    def read_months(self, part_ids: Collection[int]) -> dict[int, dict[int, int]]:
        """Pieces by month of each part that was asked for, read once; months with nothing are left out."""
        known = self._months
        missing = [part_id for part_id in part_ids if part_id not in known]
        for part_id in missing:
            known[part_id] = {}
        if missing:
            among = is_among(self.session, get_table("demand_month").c.part_id, set(missing))
            for part_id, month, pieces in iterate_rows(self.session, self._select_months().where(among)):
                if pieces > 0:
                    known[part_id][month] = pieces
        return {part_id: known[part_id] for part_id in part_ids if known[part_id]}

    def read_first_counts(self) -> dict[int, int]:
        """Month in which a part was first counted, of the parts that nobody ever asked for."""
        count, asked = get_table("stock_count").c, get_table("demand_month").c
        statement = select(count.part_id, func.min(count.counted_on)).where(
            count.counted_on.is_not(None), count.part_id.not_in(select(asked.part_id))
        )
        if self.location_id is not None:
            statement = statement.where(count.location_id == self.location_id)
        rows = self.session.execute(statement.group_by(count.part_id))
        return {row[0]: count_month(row[1]) for row in rows}

    def compute_sums(
        self, part_type: str, months: Mapping[int, int], *, start: int, shares: Mapping[int, float]
    ) -> DemandSums:
        """Discounted sums of a history given by month.

        Args:
            part_type: its season counts.
            months: pieces by month.
            start: first month on sale.
            shares: share of days in stock, of the months in which it was not 1.
        """
        if start > self.last_month:
            return NO_HISTORY
        if not shares:
            return self.get_type(part_type).compute_sums(months, start)
        begin = max(start, self.first_month)
        run = range(begin, self.last_month + 1)
        factors = self.get_type(part_type).season.factors
        exposure = [factors[month % 12] * shares.get(month, 1.0) for month in run]
        return compute_demand_sums([months.get(month, 0) for month in run], exposure)

    @cached_property
    def _has_one_location(self) -> bool:
        """Whether the shop has one place only, so that no row needs to be asked for its place."""
        places = select(func.count()).select_from(get_table("location"))
        return bool(self.session.execute(places).scalar_one() < 2)

    def _select_months(self) -> Any:
        months = get_table("demand_month").c
        is_one_place = self.location_id is not None or self._has_one_location
        pieces = months.pieces if is_one_place else func.sum(months.pieces).label("pieces")
        statement = select(months.part_id, months.month, pieces).where(
            self._hide_from_index(months.month).between(self.first_month, self.last_month)
        )
        if self.location_id is not None and not self._has_one_location:
            statement = statement.where(months.location_id == self.location_id)
        if is_one_place:
            return statement
        return statement.group_by(months.part_id, months.month)

    def _hide_from_index(self, column: ColumnElement[int]) -> ColumnElement[int]:
        """The column behind a plus sign: SQLite then reads the months of all parts in one go.

        With the bare column it looks up the first and last month of each part, which takes longer.
        """
        if self.session.get_bind().dialect.name != "sqlite":
            return column
        return UnaryExpression(column, operator=custom_op("+"), type_=column.type)

    def _build_weight(self, month: ColumnElement[int]) -> ColumnElement[float]:
        """Discount of a month: a power where SQLite was built with one, else a product of years and months.

        Joining a table of discounts would cost ten times more.
        """
        ago = self.last_month - month
        if has_power(self.session):
            return func.pow(DECAY_PER_MONTH, ago, type_=Float)
        years = {years: DECAY_PER_MONTH ** (12 * years) for years in range(MONTHS_READ // 12)}
        months = {months: DECAY_PER_MONTH**months for months in range(12)}
        return case(years, value=ago // 12) * case(months, value=ago % 12)

    def _read_types(self) -> dict[str, TypeHistory]:
        types = get_table("demand_type_month").c
        found: dict[str, dict[int, int]] = defaultdict(dict)
        statement = select(types.part_type, types.month, types.pieces).where(
            types.month.between(self.first_month, self.last_month), types.pieces > 0
        )
        for part_type, month, pieces in self.session.execute(statement).all():
            found[part_type][month] = pieces
        return {
            part_type: self._build_type(self._compute_season(months)) for part_type, months in found.items()
        }

    def _compute_season(self, months: Mapping[int, int]) -> SeasonIndex:
        start = min(months)
        totals = [months.get(month, 0) for month in range(start, self.last_month + 1)]
        return compute_season_index(totals, start % 12 + 1)

    def _build_type(self, season: SeasonIndex) -> TypeHistory:
        run = range(self.first_month, self.last_month + 1)
        weights = [DECAY_PER_MONTH ** (self.last_month - month) for month in run]
        factors = [season.factors[month % 12] for month in run]
        exposures = [weight * factor for weight, factor in zip(weights, factors, strict=True)]
        return TypeHistory(
            season,
            self.first_month,
            exposure_from=tuple(accumulate(reversed(exposures)))[::-1],
            months_from=tuple(accumulate(reversed(weights)))[::-1],
            piece_weights=tuple(weights),
            square_weights=tuple(weight / factor for weight, factor in zip(weights, factors, strict=True)),
        )
