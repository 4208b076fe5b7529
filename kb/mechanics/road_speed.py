"""Tyre size in plain numbers, rolling circumference and road speed.

Letters, load index and speed symbol of a tyre do not change its size. The rolling factor is uncertain by
about 2 %; never mix two factors when two tyres are compared. No slip, no growth at speed.

Source: published: overall diameter from the tyre code, public tyre size guides. UN Regulation 75 tabulates
real design diameters; its table was not read.
"""

from math import pi

from kb.mechanics.plausible_input import check_positive
from kb.units import convert_inch_to_mm

UNLOADED_FACTOR = 1.0
ROLLING_FACTOR = 0.97
"""Rolling over unloaded circumference (3.05/π, a rule for radial car tyres, from memory; ±2 %)."""


def metric_tyre_diameter_mm(width_mm: float, aspect_percent: float, *, rim_in: float) -> float:
    """Overall diameter [mm] of a metric tyre: width [mm], section height [% of width], rim code [in].

    Example:
        >>> metric_tyre_diameter_mm(100.0, 90.0, rim_in=10.0)
        434.0
    """
    check_positive("width_mm", width_mm)
    check_positive("aspect_percent", aspect_percent)
    check_positive("rim_in", rim_in)
    return convert_inch_to_mm(rim_in) + 2.0 * width_mm * aspect_percent / 100.0


def inch_tyre_diameter_mm(width_in: float, rim_in: float, *, aspect_percent: float = 100.0) -> float:
    """Overall diameter [mm] of an inch tyre: width [in] and rim code [in].

    Inch codes count as full section height; a few low ones are about 90 % (published: tyre size guides).

    Example:
        >>> inch_tyre_diameter_mm(3.5, 10.0)
        431.8
    """
    return metric_tyre_diameter_mm(convert_inch_to_mm(width_in), aspect_percent, rim_in=rim_in)


def rolling_circumference_mm(diameter_mm: float, factor: float = UNLOADED_FACTOR) -> float:
    """Way per wheel turn [mm] of a tyre of an overall diameter [mm].

    Example:
        >>> round(rolling_circumference_mm(434.0, ROLLING_FACTOR))
        1323
    """
    check_positive("diameter_mm", diameter_mm)
    check_positive("factor", factor)
    return pi * diameter_mm * factor


def road_speed_km_per_h(
    engine_speed_rpm: float, ratio: float, *, final_reduction: float, circumference_mm: float
) -> float:
    """Road speed at an engine speed.

    Args:
        engine_speed_rpm: engine speed [r/min].
        ratio: ratio of the belt drive, above 0.
        final_reduction: reduction behind the clutch, above 0; multiply the stages.
        circumference_mm: rolling circumference [mm], above 0.

    Returns:
        Speed [km/h].

    Raises:
        BadInput: a value not above 0.

    Example:
        >>> round(road_speed_km_per_h(7500.0, 0.85, final_reduction=9.2, circumference_mm=1356.54), 1)
        78.1
    """
    check_positive("ratio", ratio)
    check_positive("final_reduction", final_reduction)
    check_positive("circumference_mm", circumference_mm)
    return engine_speed_rpm / (ratio * final_reduction) * circumference_mm * 60.0 / 1e6


def road_speed_change_percent(
    ratio_before: float, ratio_after: float, *, circumference_before_mm: float, circumference_after_mm: float
) -> float:
    """Change of road speed [%] at the same engine speed, for a change of ratio and of circumference [mm].

    Example:
        >>> tyre = {"circumference_before_mm": 1356.5, "circumference_after_mm": 1356.5}
        >>> round(road_speed_change_percent(0.805, 0.984, **tyre), 1)
        -18.2
    """
    check_positive("ratio_before", ratio_before)
    check_positive("ratio_after", ratio_after)
    check_positive("circumference_before_mm", circumference_before_mm)
    check_positive("circumference_after_mm", circumference_after_mm)
    return (ratio_before / ratio_after * circumference_after_mm / circumference_before_mm - 1.0) * 100.0
