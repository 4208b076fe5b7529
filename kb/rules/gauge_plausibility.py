"""Whether a reading can be of a worn part at all, and how much of its wear allowance is used.

A person meets these as "wider than new", "far from new", "the limit contradicts the size when new". They do
not tell what to do with the part; the gauging rule does.

Source: judgement of this project: 0.1 mm on rubber, 0.05 mm on metal, new belt ± 0.2 mm, new metal part
± 0.1 mm, springs read to 0.5 mm and new within 2 %, masses read to 0.05 g and new within 0.1 g;
any other unit new within 2 %; with a wear allowance below 0.2 mm, read with a micrometer to 0.01 mm and
new within 0.02 mm.

Example:
    >>> used_percent_of(15.5, GaugeLimit(17.0, 15.0, LimitSense.MIN))
    75.0
"""

from dataclasses import dataclass

from kb.rules.gauge_values import GaugeFinding, GaugeFindingCode, GaugeLimit, GaugeReading
from kb.rules.quantity import EQUAL
from kb.terms import LimitSense, Position

FAR_USED_PERCENT = 300.0
FAR_SHARE = 0.25

RUBBER_READING_MM = 0.1
METAL_READING_MM = 0.05
NEW_BELT_MM = 0.2
NEW_METAL_MM = 0.1
MICROMETER_READING_MM = 0.01
NEW_FINE_MM = 0.02
FINE_ALLOWANCE_MM = 0.2
SPRING_READING_MM = 0.5
NEW_SHARE = 0.02
MASS_READING_G = 0.05
NEW_MASS_G = 0.1

_SPRINGS = (Position.CONTRA_SPRING, Position.CLUTCH_SPRINGS)

_DOUBTS = {
    GaugeFindingCode.LARGER_THAN_NEW,
    GaugeFindingCode.SMALLER_THAN_NEW,
    GaugeFindingCode.LIMIT_CONTRADICTS,
}


@dataclass(frozen=True, slots=True)
class ReadingTolerance:
    """How closely a quantity can be read, and how far a new part may lie from its nominal size."""

    reading: float
    new: float

    @property
    def beyond_new(self) -> float:
        """Distance from nominal past which a part can't be a new one read well."""
        return self.reading + self.new


_SOFT = {
    Position.DRIVE_BELT: ReadingTolerance(RUBBER_READING_MM, NEW_BELT_MM),
    Position.CLUTCH_SHOES: ReadingTolerance(RUBBER_READING_MM, NEW_METAL_MM),
}


def find_reading_tolerance(position: Position, limit: GaugeLimit) -> ReadingTolerance:
    """How closely a reading at a position can be trusted, in the unit of the reading.

    Args:
        position: the place in the machine.
        limit: size when new, limit and unit; a fine wear allowance calls for a micrometer.

    Source: judgement of this project, see the module.

    Example:
        >>> round(find_reading_tolerance(Position.DRIVE_BELT, GaugeLimit(17.0, 15.0)).beyond_new, 2)
        0.3
    """
    if limit.unit == "g":
        return ReadingTolerance(MASS_READING_G, NEW_MASS_G)
    if limit.unit not in (None, "mm"):
        return ReadingTolerance(0.0, NEW_SHARE * (limit.nominal or 0.0))
    if position in _SPRINGS:
        return ReadingTolerance(SPRING_READING_MM, NEW_SHARE * (limit.nominal or 0.0))
    if position in _SOFT:
        return _SOFT[position]
    if needs_micrometer(limit):
        return ReadingTolerance(MICROMETER_READING_MM, NEW_FINE_MM)
    return ReadingTolerance(METAL_READING_MM, NEW_METAL_MM)


def needs_micrometer(limit: GaugeLimit) -> bool:
    """Whether the whole wear allowance is so small that a caliper can't tell its parts.

    Example:
        >>> needs_micrometer(GaugeLimit(18.0, 17.94)), needs_micrometer(GaugeLimit(16.0, 15.5))
        (True, False)
    """
    if limit.nominal is None or limit.limit is None or limit.unit not in (None, "mm"):
        return False
    return abs(limit.nominal - limit.limit) < FINE_ALLOWANCE_MM - EQUAL


def infer_sense(limit: GaugeLimit) -> LimitSense | None:
    """The sense that the size when new and the limit show; None when one is missing or they are equal."""
    if limit.nominal is None or limit.limit is None or abs(limit.nominal - limit.limit) <= EQUAL:
        return None
    return LimitSense.MIN if limit.limit < limit.nominal else LimitSense.MAX


def _is_contradictory(limit: GaugeLimit) -> bool:
    """Whether the stated sense is not the one that the two sizes show."""
    shown = infer_sense(limit)
    return shown is not None and shown is not limit.sense


def used_percent_of(value: float, limit: GaugeLimit) -> float | None:
    """Share of the wear allowance that is used [%], negative for a part larger than new."""
    if limit.nominal is None or limit.limit is None or infer_sense(limit) is not limit.sense:
        return None
    if abs(limit.nominal - limit.limit) <= EQUAL:
        return None
    return (limit.nominal - value) / (limit.nominal - limit.limit) * 100.0


def find_room(value: float, limit: GaugeLimit) -> float | None:
    """What is left to the limit, negative beyond it; None without limit or sense."""
    if limit.limit is None or limit.sense is None:
        return None
    room = value - limit.limit if limit.sense is LimitSense.MIN else limit.limit - value
    return round(room, 6)


def find_oddities(
    reading: GaugeReading, limit: GaugeLimit, *, used_percent: float | None
) -> tuple[GaugeFinding, ...]:
    """What is odd about a reading or its limit row; empty for a plain one."""
    if _is_contradictory(limit):
        text = f"The limit '{limit.limit}' lies on the wrong side of the size when new, '{limit.nominal}'."
        return (GaugeFinding(GaugeFindingCode.LIMIT_CONTRADICTS, text),)
    findings: list[GaugeFinding] = []
    tolerance = find_reading_tolerance(reading.position, limit)
    unworn = _compare_with_new(reading.value, limit, tolerance=tolerance)
    if unworn:
        findings.append(unworn)
    far = _is_far(reading.value, limit, used_percent=used_percent)
    if far:
        findings.append(GaugeFinding(GaugeFindingCode.FAR_FROM_NEW, _far_text(reading.value, limit)))
    room = find_room(reading.value, limit)
    if room is not None and abs(room) <= tolerance.reading + EQUAL:
        nearness = f"{tolerance.reading:g} {limit.unit or ''}".rstrip()
        text = f"The reading lies within {nearness} of the limit, and so much can be misread."
        findings.append(GaugeFinding(GaugeFindingCode.AT_THE_LIMIT, text))
    return tuple(findings)


def _compare_with_new(value: float, limit: GaugeLimit, *, tolerance: ReadingTolerance) -> GaugeFinding | None:
    """A finding when the part has more material than a new one; wear can't do that."""
    if limit.nominal is None or limit.sense is None:
        return None
    excess = value - limit.nominal if limit.sense is LimitSense.MIN else limit.nominal - value
    if excess <= tolerance.beyond_new + EQUAL:
        return None
    larger = limit.sense is LimitSense.MIN
    code = GaugeFindingCode.LARGER_THAN_NEW if larger else GaugeFindingCode.SMALLER_THAN_NEW
    unit = f" {limit.unit}" if limit.unit else ""
    text = (
        f"{value:g}{unit} is {round(excess, 3):g}{unit} {'larger' if larger else 'smaller'} than new "
        f"({limit.nominal:g}{unit}); more than {tolerance.beyond_new:g}{unit} means another part or a wrong "
        "reading."
    )
    return GaugeFinding(code, text)


def _is_far(value: float, limit: GaugeLimit, *, used_percent: float | None) -> bool:
    """Whether no worn part of this kind could read so: three allowances and a quarter of its size away."""
    if limit.nominal is None or used_percent is None:
        return False
    off = abs(value - limit.nominal)
    return off > FAR_SHARE * limit.nominal and (used_percent > FAR_USED_PERCENT or used_percent < 0)


_SLIPS = ((25.4, "read in inches"), (10.0, "off by one decimal place"), (0.1, "off by one decimal place"))


def _find_slip(value: float, nominal: float) -> str | None:
    """What would turn the reading into a likely one: inches, or a slipped decimal point."""
    return next((slip for factor, slip in _SLIPS if 0.85 * nominal <= value * factor <= 1.05 * nominal), None)


def _far_text(value: float, limit: GaugeLimit) -> str:
    nominal = limit.nominal or 0.0
    slip = _find_slip(value, nominal)
    guess = f"it looks {slip}" if slip else "it may be another part, another quantity or another unit"
    return (
        f"{value:g} is far from the size when new ({nominal:g} {limit.unit or ''}): {guess}. Measure again."
    )


def has_doubt(value: float, limit: GaugeLimit, *, findings: tuple[GaugeFinding, ...]) -> bool:
    """Whether the reading or its row can't be taken at its word, so that no verdict may rest on it.

    A reading far below the limit stays a reason to replace, unless a slip of unit or decimal explains it.
    """
    codes = {finding.code for finding in findings}
    if GaugeFindingCode.FAR_FROM_NEW in codes and _find_slip(value, limit.nominal or 0.0):
        return True
    return bool(codes & _DOUBTS)
