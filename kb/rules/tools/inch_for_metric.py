"""May an inch socket stand in for a metric one? Geometry of a hexagon that turns in a hexagon.

A hexagon of width s in an opening of width t turns freely by 30° - arccos(0.866 t / s) before it grips and
slips round at 30°. The free turn of the inch tool at its worst (widest opening, smallest nut) is compared
with that of the right metric tool at its worst.

Sources: openings of inch tools of ASME B18.2.2 (published); of metric tools of ISO 691 (from memory, not
confirmed); nut limits of ISO 4759-1. The criterion and its two factors are a judgement of this project.
A wrong answer rounds the corners of a nut, so the loosest class is never recommended.
"""

import math
from dataclasses import dataclass
from enum import StrEnum

from kb.errors import BadInput
from kb.standards.hex_tolerances import find_hex_tolerance
from kb.standards.inch_hexes import InchHex
from kb.standards.wrench_openings import WrenchOpening, find_wrench_opening

SLIP_ROUND_DEG = 30.0
COS_30 = math.sqrt(3) / 2


class InchVerdict(StrEnum):
    """What an inch tool is to a metric nut."""

    NO_GO = "no_go"
    TIGHT_TRY = "tight_try"
    TRY = "try"
    EQUAL = "equal"
    NEAR = "near"
    LOOSE_HAND_ONLY = "loose_hand_only"
    REJECT = "reject"


STAND_IN_ORDER = (
    InchVerdict.EQUAL,
    InchVerdict.NEAR,
    InchVerdict.TRY,
    InchVerdict.TIGHT_TRY,
    InchVerdict.LOOSE_HAND_ONLY,
)

STRICTER_UNDER_POWER = {
    InchVerdict.EQUAL: InchVerdict.NEAR,
    InchVerdict.NEAR: InchVerdict.LOOSE_HAND_ONLY,
    InchVerdict.TRY: InchVerdict.LOOSE_HAND_ONLY,
    InchVerdict.TIGHT_TRY: InchVerdict.LOOSE_HAND_ONLY,
    InchVerdict.LOOSE_HAND_ONLY: InchVerdict.REJECT,
    InchVerdict.REJECT: InchVerdict.REJECT,
    InchVerdict.NO_GO: InchVerdict.NO_GO,
}

MEANING = {
    InchVerdict.NO_GO: "does not go on this nut",
    InchVerdict.TIGHT_TRY: (
        "goes on the smaller nuts only; use it if it slides on fully by hand, never drive it on"
    ),
    InchVerdict.TRY: "depends on the two parts in hand; use it if it slides on fully, never drive it on",
    InchVerdict.EQUAL: "grips as well as the metric tool",
    InchVerdict.NEAR: "may be used; six-point only",
    InchVerdict.LOOSE_HAND_ONLY: (
        "is loose: only for undoing by hand a nut that is not tight; no impact tool, no final torque"
    ),
    InchVerdict.REJECT: "is too loose and rounds the corners: do not use it",
}

MEASURE_TEXT = "Measure the nut across flats with a caliper: the answer rests on its nominal size."


@dataclass(frozen=True, slots=True)
class InchForMetricSettings:
    """Limits of the criterion; a judgement of this project, no source."""

    near_factor: float = 1.10
    loose_factor: float = 1.25
    grade_a_up_to_mm: float = 24.0
    measured_above_mm: float = 0.2
    measured_below_mm: float = 1.5


DEFAULT_SETTINGS = InchForMetricSettings()


@dataclass(frozen=True, slots=True)
class HexFit:
    """Limits [mm] of a nut, of the tool that is asked about, and the widest opening of the right tool."""

    nut_smallest_mm: float
    nut_largest_mm: float
    opening_smallest_mm: float
    opening_largest_mm: float
    right_tool_largest_mm: float


@dataclass(frozen=True, slots=True)
class InchAnswer:
    """Verdict on one inch tool for one metric nut, with the figures it rests on.

    ``measure`` is True unless the nut was measured; then ``text`` says so as well.
    """

    verdict: InchVerdict
    metric_mm: float
    inch_size: str
    fit: HexFit
    free_turn_deg: float
    right_tool_free_turn_deg: float
    measure: bool
    text: str
    source: str


def free_turn_deg(nut_mm: float, opening_mm: float) -> float:
    """Angle that a hexagon turns in a hexagonal opening before it grips, 30 when it slips round.

    Args:
        nut_mm: width across flats of the nut [mm], above 0.
        opening_mm: width across flats of the opening [mm].

    Returns:
        Angle [°], 0 where the nut does not go in.

    Source: computed, plain geometry.

    Example:
        >>> round(free_turn_deg(37.0, 38.6), 1)
        4.6
        >>> free_turn_deg(10.0, 11.6)
        30.0
    """
    cosine = COS_30 * opening_mm / nut_mm
    if cosine >= 1.0:
        return SLIP_ROUND_DEG
    return max(0.0, SLIP_ROUND_DEG - math.degrees(math.acos(cosine)))


def rank_hex_fit(fit: HexFit, settings: InchForMetricSettings = DEFAULT_SETTINGS) -> InchVerdict:
    """Verdict on a tool by hand, from the limits of nut and openings; the first class that matches.

    Source: judgement of this project.

    Example:
        >>> rank_hex_fit(HexFit(37.0, 38.0, 38.303, 38.608, 38.6)).value
        'near'
    """
    if fit.opening_largest_mm < fit.nut_smallest_mm:
        return InchVerdict.NO_GO
    if fit.opening_largest_mm < fit.nut_largest_mm:
        return InchVerdict.TIGHT_TRY
    if fit.opening_smallest_mm < fit.nut_largest_mm:
        return InchVerdict.TRY
    if fit.opening_largest_mm <= fit.right_tool_largest_mm:
        return InchVerdict.EQUAL
    return _rank_free_turn(fit, settings)


def _rank_free_turn(fit: HexFit, settings: InchForMetricSettings) -> InchVerdict:
    turn = free_turn_deg(fit.nut_smallest_mm, fit.opening_largest_mm)
    right_turn = free_turn_deg(fit.nut_smallest_mm, fit.right_tool_largest_mm)
    if turn <= settings.near_factor * right_turn:
        return InchVerdict.NEAR
    if turn <= settings.loose_factor * right_turn:
        return InchVerdict.LOOSE_HAND_ONLY
    return InchVerdict.REJECT


def rank_inch_tool(
    metric_mm: float,
    inch: InchHex,
    *,
    measured_mm: float | None = None,
    under_power: bool = False,
    settings: InchForMetricSettings = DEFAULT_SETTINGS,
) -> InchAnswer | None:
    """Verdict on an inch tool for a metric nut; None where the metric tool or the tolerance is not known.

    Args:
        metric_mm: nominal size of the nut [mm].
        inch: the inch tool.
        measured_mm: size of the very nut [mm]; None when it was not measured.
        under_power: for an impact tool; one step stricter, since impact sockets are wider (from memory).
        settings: limits of the criterion.

    Raises:
        BadInput: the measured size is not one that a nut of this nominal size can have.

    Source: judgement of this project on the tables named above.

    Example:
        >>> from kb.standards.inch_hexes import find_inch_hex
        >>> answer = rank_inch_tool(38.0, find_inch_hex(38.1))
        >>> answer.verdict.value, answer.measure
        ('near', True)
        >>> rank_inch_tool(17.0, find_inch_hex(17.46)).verdict.value
        'reject'
    """
    opening = find_wrench_opening(metric_mm)
    nut = _find_nut_limits(metric_mm, measured_mm, settings)
    if opening is None or nut is None:
        return None
    smallest, largest = nut
    fit = HexFit(
        nut_smallest_mm=smallest,
        nut_largest_mm=largest,
        opening_smallest_mm=inch.opening_smallest_mm,
        opening_largest_mm=inch.opening_largest_mm,
        right_tool_largest_mm=opening.opening_largest_mm,
    )
    verdict = rank_hex_fit(fit, settings)
    if under_power:
        verdict = STRICTER_UNDER_POWER[verdict]
    measure = measured_mm is None
    fit_name = f"{inch.size} in{' impact' if under_power else ''} tool on a {metric_mm:g} mm nut"
    return InchAnswer(
        verdict=verdict,
        metric_mm=metric_mm,
        inch_size=inch.size,
        fit=fit,
        free_turn_deg=free_turn_deg(smallest, fit.opening_largest_mm),
        right_tool_free_turn_deg=free_turn_deg(smallest, fit.right_tool_largest_mm),
        measure=measure,
        text=_format_answer(verdict, fit_name, measure=measure),
        source=_format_source(inch, opening),
    )


def _find_nut_limits(
    metric_mm: float, measured_mm: float | None, settings: InchForMetricSettings
) -> tuple[float, float] | None:
    if measured_mm is not None:
        low, high = metric_mm - settings.measured_below_mm, metric_mm + settings.measured_above_mm
        if not low <= measured_mm <= high:
            raise BadInput(
                f"Measured size '{measured_mm:g}' mm does not belong to a {metric_mm:g} mm nut; "
                f"accepted is {low:g} to {high:g} mm. Measure again or look up the nut's size.",
                field="measured_mm",
            )
        return measured_mm, measured_mm
    grade = "A" if metric_mm <= settings.grade_a_up_to_mm else "B"
    tolerance = find_hex_tolerance(metric_mm, grade)
    if tolerance is None:
        return None
    return metric_mm - tolerance.tolerance_mm, metric_mm


def _format_answer(verdict: InchVerdict, fit_name: str, *, measure: bool) -> str:
    text = f"The {fit_name} {MEANING[verdict]}."
    return f"{text} {MEASURE_TEXT}" if measure else text


def _format_source(inch: InchHex, opening: WrenchOpening) -> str:
    return f"{inch.source}; {opening.source}; criterion: judgement of this project"
