"""How long a worn part will last: its readings over distance or time, held against the limit.

A person meets it as "about 3300 km left, between 2800 and 3800; measure again at 43 000 km". A series
belongs to one part: fitting a new one starts another. A width tells nothing about cracks or heat.

Source: line, robust line and bounds as ``kb.mechanics.wear``; which of them is used, the doubt about a
growing reading, the warning beyond twice the span, when to measure again, and that ends ten times apart give
no number to plan by are judgement of this project.

Example:
    >>> from kb.rules.gauge_values import GaugeLimit
    >>> belt = [SeriesEntry(18.0, 0.0), SeriesEntry(17.7, 2000.0), SeriesEntry(17.35, 4100.0),
    ...         SeriesEntry(17.1, 6000.0), SeriesEntry(16.7, 8200.0)]
    >>> answer = forecast_series(belt, GaugeLimit(18.0, 16.2), position=Position.DRIVE_BELT)
    >>> answer.state.value, round(answer.remaining), round(answer.low), round(answer.high)
    ('projected', 3312, 2871, 3804)
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from itertools import pairwise

from kb.mechanics.wear import WearMethod, bound_two_readings, forecast_wear
from kb.mechanics.wear_bounds import REMEASURE_FACTOR, WearBounds, WearUncertainty, bound_wear
from kb.mechanics.wear_line import DEFAULT_CONFIDENCE
from kb.mechanics.wear_reading import (
    FAR_SPAN_FACTOR,
    WearProjection,
    WearReading,
    WearState,
    is_far_projection,
    list_growing_readings,
)
from kb.rules.gauge_plausibility import find_reading_tolerance, infer_sense
from kb.rules.gauge_values import GaugeLimit
from kb.rules.quantity import EQUAL
from kb.rules.said_figures import say_at_least, say_figures, say_grouped
from kb.rules.wear_series_values import (
    SeriesAnswer,
    SeriesAxis,
    SeriesEntry,
    SeriesFinding,
    SeriesFindingCode,
    SeriesMethod,
    SeriesState,
)
from kb.terms import Certainty, LimitSense, Position

WIDE_INTERVAL = 10.0  # a far end so many times the near one: no middle is told

_STATE_OF_MECHANICS = {
    WearState.PROJECTED: SeriesState.PROJECTED,
    WearState.BELOW_LIMIT: SeriesState.BEYOND_LIMIT,
    WearState.NO_PROVEN_WEAR: SeriesState.NO_PROVEN_WEAR,
    WearState.NO_RATE: SeriesState.NO_RATE,
}


@dataclass(frozen=True, slots=True)
class _Series:
    """Readings of the part now fitted, with sizes turned so that they fall towards the limit."""

    axis: SeriesAxis
    readings: tuple[WearReading, ...]
    left_out: int
    since_new: float | None
    sign: float
    limit: float
    nominal: float | None
    uncertainty: WearUncertainty


@dataclass(frozen=True, slots=True)
class _Outcome:
    """What one of the methods says."""

    state: SeriesState
    method: SeriesMethod
    rate: float | None
    level_now: float
    remaining: float | None
    low: float | None
    high: float | None
    is_last_odd: bool = False


def forecast_series(
    entries: Sequence[SeriesEntry],
    limit: GaugeLimit,
    *,
    position: Position,
    confidence: float = DEFAULT_CONFIDENCE,
) -> SeriesAnswer:
    """How far the part now fitted will go, from what was written down about it.

    Args:
        entries: readings and fittings of new parts, in the order in which they were written down.
        limit: size when new, limit and sense; a sense that is not stated follows from the two sizes.
        position: place of the part; it decides how closely a reading can be trusted.
        confidence: of the interval for three or more readings, between 0 and 1.

    Returns:
        The forecast. Three or more readings: a line with its interval, or the robust line when a reading is
        odd; two readings, or one and the distance since new: bounds; else only the room to the limit.

    Source: as the module.
    """
    current = _entries_of_fitted_part(entries)
    sense = limit.sense or infer_sense(limit)
    if all(entry.value is None for entry in current):
        return _refuse(SeriesState.NO_READING, "Nothing was measured on the part now fitted; measure it.")
    if limit.limit is None or sense is None:
        return _refuse(SeriesState.NO_LIMIT, "The limit of wear, or its sense, is not known; look it up.")
    if infer_sense(limit) not in (None, sense):
        finding = SeriesFinding(
            SeriesFindingCode.LIMIT_CONTRADICTS,
            f"The limit '{limit.limit}' lies on the wrong side of the size when new, '{limit.nominal}'.",
        )
        return _refuse(SeriesState.NO_LIMIT, "The row of the limit contradicts itself; check it.", (finding,))
    errors = _find_falling(current)
    if errors:
        return _refuse(SeriesState.DATA_ERROR, "The odometer falls; correct the entries first.", errors)
    series = _build_series(current, replace(limit, sense=sense), position=position)
    return _answer(series, confidence=confidence)


def _entries_of_fitted_part(entries: Sequence[SeriesEntry]) -> tuple[SeriesEntry, ...]:
    """Entries from the last fitting of a new part on; all of them when none was written down."""
    start = max((place for place, entry in enumerate(entries) if entry.is_new_part), default=0)
    return tuple(entries[start:])


def _find_falling(entries: Sequence[SeriesEntry]) -> tuple[SeriesFinding, ...]:
    distances = [entry.odometer_km for entry in entries if entry.odometer_km is not None]
    return tuple(
        SeriesFinding(
            SeriesFindingCode.FALLING_ODOMETER,
            f"Odometer '{say_grouped(later)}' km follows {say_grouped(earlier)} km: a writing error, "
            "or another odometer.",
        )
        for earlier, later in pairwise(distances)
        if later < earlier - EQUAL
    )


def _refuse(state: SeriesState, text: str, findings: tuple[SeriesFinding, ...] = ()) -> SeriesAnswer:
    return SeriesAnswer(
        state=state,
        method=SeriesMethod.NONE,
        axis=SeriesAxis.NONE,
        reading_count=0,
        rate=None,
        level_now=None,
        room=None,
        remaining=None,
        low=None,
        high=None,
        measure_again_km=None,
        measure_again_on=None,
        certainty=Certainty.UNSURE,
        findings=findings,
        text=text,
    )


def _build_series(entries: tuple[SeriesEntry, ...], limit: GaugeLimit, *, position: Position) -> _Series:
    """The series along its axis; without one, only the last reading."""
    measured = [(entry, entry.value) for entry in entries if entry.value is not None]
    axis = _choose_axis([entry for entry, _ in measured])
    sign = 1.0 if limit.sense is LimitSense.MIN else -1.0
    placed = [
        WearReading(place, sign * value)
        for entry, value in measured
        if (place := _find_place(axis, entry)) is not None
    ]
    readings = sorted(placed, key=lambda reading: reading.distance_km) or [
        WearReading(0.0, sign * measured[-1][1])
    ]
    start = _find_place(axis, entries[0]) if entries[0].is_new_part else None
    tolerance = find_reading_tolerance(position, limit)
    return _Series(
        axis=axis,
        readings=tuple(readings),
        left_out=len(measured) - len(readings),
        since_new=None if start is None else readings[-1].distance_km - start,
        sign=sign,
        limit=sign * (limit.limit or 0.0),
        nominal=None if limit.nominal is None else sign * limit.nominal,
        uncertainty=WearUncertainty(tolerance.new, tolerance.reading),
    )


def _choose_axis(measured: Sequence[SeriesEntry]) -> SeriesAxis:
    """Distance, unless dates place the last reading or more of them and distance does not; else neither."""
    with_km = sum(entry.odometer_km is not None for entry in measured)
    with_date = sum(entry.on is not None for entry in measured)
    if measured[-1].odometer_km is not None and with_km >= min(with_date, 2):
        return SeriesAxis.KM
    return SeriesAxis.DAYS if measured[-1].on is not None else SeriesAxis.NONE


def _find_place(axis: SeriesAxis, entry: SeriesEntry) -> float | None:
    if axis is SeriesAxis.KM:
        return entry.odometer_km
    if axis is SeriesAxis.DAYS and entry.on is not None:
        return float(entry.on.toordinal())
    return None


def _answer(series: _Series, *, confidence: float) -> SeriesAnswer:
    outcome = _forecast(series, confidence=confidence)
    findings = tuple(_find_oddities(series, outcome))
    again = _measure_again(series, outcome)
    return SeriesAnswer(
        state=outcome.state,
        method=outcome.method,
        axis=series.axis,
        reading_count=len(series.readings),
        rate=None if outcome.rate is None else series.sign * outcome.rate,
        level_now=series.sign * outcome.level_now,
        room=round(series.readings[-1].size_mm - series.limit, 6),
        remaining=outcome.remaining,
        low=outcome.low,
        high=outcome.high,
        measure_again_km=again if series.axis is SeriesAxis.KM else None,
        measure_again_on=(
            date.fromordinal(int(again)) if again is not None and series.axis is SeriesAxis.DAYS else None
        ),
        certainty=_find_certainty(outcome, findings),
        findings=findings,
        text=_describe(outcome, axis=series.axis),
    )


def _forecast(series: _Series, *, confidence: float) -> _Outcome:
    """The forecast by whatever method the readings allow."""
    span = series.readings[-1].distance_km - series.readings[0].distance_km
    if span > EQUAL and len(series.readings) >= 3:
        return _forecast_line(series, confidence=confidence)
    if span > EQUAL:
        bounds = bound_two_readings(
            series.readings, series.limit, uncertainty_mm=series.uncertainty.reading_mm
        )
        return _from_bounds(bounds, SeriesMethod.TWO_READINGS, level_now=series.readings[-1].size_mm)
    size = series.readings[-1].size_mm
    is_rated = series.nominal is not None and series.since_new is not None and series.since_new > EQUAL
    bounds = bound_wear(
        size if series.nominal is None else series.nominal,
        size,
        limit_mm=series.limit,
        distance_km=series.since_new if is_rated else None,
        uncertainty=series.uncertainty,
    )
    return _from_bounds(bounds, SeriesMethod.ONE_READING, level_now=size)


def _forecast_line(series: _Series, *, confidence: float) -> _Outcome:
    """Line or robust line. A growing reading spoils a line first, so then the robust one stands in for it."""
    forecast = forecast_wear(series.readings, series.limit, confidence=confidence)
    is_robust = forecast.preferred is WearMethod.ROBUST
    if forecast.line.state is WearState.NO_PROVEN_WEAR and _list_growing(series):
        is_robust = forecast.robust.state is WearState.PROJECTED
    chosen: WearProjection = forecast.robust if is_robust else forecast.line
    return _Outcome(
        state=_STATE_OF_MECHANICS[chosen.state],
        method=SeriesMethod.ROBUST if is_robust else SeriesMethod.LINE,
        rate=chosen.rate_mm_per_km,
        level_now=chosen.level_now_mm,
        remaining=chosen.remaining_km,
        low=_cautious_low(series, chosen),
        high=chosen.high_km,
        is_last_odd=is_robust and _is_last_odd(series, chosen),
    )


def _is_last_odd(series: _Series, chosen: WearProjection) -> bool:
    """Whether the last reading lies further off the line than two readings may differ."""
    off = abs(series.readings[-1].size_mm - chosen.level_now_mm)
    return off > 2.0 * series.uncertainty.reading_mm + EQUAL


def _cautious_low(series: _Series, chosen: WearProjection) -> float | None:
    """Near end of the interval; an odd last reading is believed there, since it may be the true one."""
    rate = chosen.rate_mm_per_km
    if chosen.low_km is None or rate is None or rate >= 0.0 or not _is_last_odd(series, chosen):
        return chosen.low_km
    return min(chosen.low_km, max(series.readings[-1].size_mm - series.limit, 0.0) / -rate)


def _from_bounds(bounds: WearBounds, method: SeriesMethod, *, level_now: float) -> _Outcome:
    return _Outcome(
        state=_STATE_OF_MECHANICS[bounds.state],
        method=method,
        rate=bounds.rate_mm_per_km,
        level_now=level_now,
        remaining=bounds.remaining_km,
        low=bounds.low_km,
        high=bounds.high_km,
    )


def _list_growing(series: _Series) -> tuple[int, ...]:
    return list_growing_readings(series.readings, series.uncertainty.reading_mm)


def _find_oddities(series: _Series, outcome: _Outcome) -> Iterator[SeriesFinding]:
    for place in _list_growing(series):
        before, after = (series.sign * series.readings[index].size_mm for index in (place - 1, place))
        yield SeriesFinding(
            SeriesFindingCode.GROWING_READING,
            f"'{after:g}' follows {before:g}: wear goes the other way; a wrong reading, or a new part "
            "whose fitting was not written down.",
        )
    if outcome.method is SeriesMethod.ROBUST:
        text = "One reading lies off the others; a line that such a reading can't spoil was used."
        if outcome.is_last_odd:
            text = (
                "The last reading lies off the others: wrong, or wear has quickened; measure again at once."
            )
        yield SeriesFinding(SeriesFindingCode.ODD_READING, text)
    if len(series.readings) > 1 and series.readings[0].distance_km >= series.readings[-1].distance_km - EQUAL:
        text = "All readings were taken at one distance, so they give no rate; measure again later."
        yield SeriesFinding(SeriesFindingCode.SAME_DISTANCE, text)
    if series.left_out:
        text = f"{series.left_out} of the readings have no place along {series.axis.value} and were left out."
        yield SeriesFinding(SeriesFindingCode.LEFT_OUT, text)
    if len(series.readings) > 1 and is_far_projection(series.readings, outcome.remaining):
        text = "The remaining distance is more than twice what was observed; wear may change on the way."
        yield SeriesFinding(SeriesFindingCode.FAR_PROJECTION, text)


def _measure_again(series: _Series, outcome: _Outcome) -> float | None:
    """Place at which to measure again.

    After wear of three uncertainties, but not past the near end of the interval nor twice what was observed.
    """
    if outcome.state is not SeriesState.PROJECTED or outcome.rate is None or outcome.low is None:
        return None
    step = REMEASURE_FACTOR * series.uncertainty.reading_mm / -outcome.rate
    last_km = series.readings[-1].distance_km
    if outcome.is_last_odd:
        return last_km
    observed = max(last_km - series.readings[0].distance_km, series.since_new or 0.0)
    return last_km + min(step, outcome.low, FAR_SPAN_FACTOR * observed)


def _find_certainty(outcome: _Outcome, findings: tuple[SeriesFinding, ...]) -> Certainty:
    if findings or outcome.state not in (SeriesState.PROJECTED, SeriesState.BEYOND_LIMIT):
        return Certainty.UNSURE
    if outcome.state is SeriesState.BEYOND_LIMIT:
        return Certainty.SURE
    return Certainty.PROBABLE if outcome.method is SeriesMethod.LINE else Certainty.UNSURE


_STATE_TEXT = {
    SeriesState.BEYOND_LIMIT: "The last reading is beyond the limit: nothing left, replace.",
    SeriesState.NO_PROVEN_WEAR: "The readings do not prove wear, so no remaining distance can be given.",
    SeriesState.NO_RATE: "One reading and no distance since new give no rate; measure again later.",
}


def _describe(outcome: _Outcome, *, axis: SeriesAxis) -> str:
    if outcome.remaining is None or outcome.state is not SeriesState.PROJECTED:
        return _STATE_TEXT[outcome.state]
    left, low, unit = outcome.remaining, outcome.low or 0.0, axis.value
    if outcome.high is None and low > 0.0:
        return (
            f"At least {say_at_least(low)} {unit} left; how far beyond can't be said from these readings yet."
        )
    if outcome.high is None:
        return "How much is left can't be said from these readings yet: it may be at the limit already."
    high = f"{say_figures(outcome.high)} {unit}"
    if low <= 0.0 or outcome.high > WIDE_INTERVAL * low:
        near = f"between {say_at_least(low)} and {high}" if low > 0 else f"from nothing to {high}"
        return f"How much is left can't be said from these readings yet: {near}."
    return f"About {say_figures(left)} {unit} left, between {say_at_least(low)} and {high}."
