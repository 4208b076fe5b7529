"""Words for what a belt comparison found: reasons with their limits, and what to measure."""

from kb.mechanics.belt_code_comparison import TOLERANCE, CodeComparison, CodeFinding, CodeLimits
from kb.mechanics.belt_geometry_comparison import GeometryComparison, GeometryFinding, GeometryReason
from kb.mechanics.fit_class import FitClass
from kb.rules.fit.findings import Findings, Numbers
from kb.rules.fit.measuring import build_measurement
from kb.rules.fit.reasons import ReasonCode
from kb.terms import Outcome

_CODE_RULE = {
    "outer length": (ReasonCode.BELT_LENGTH, "length_mm", "Length"),
    "top width": (ReasonCode.BELT_TOP_WIDTH, "top_width_mm", "Top width"),
    "included angle": (ReasonCode.BELT_ANGLE, "angle_deg", "Included angle"),
    "thickness": (ReasonCode.BELT_THICKNESS, "thickness_mm", "Thickness"),
}
_OUTCOME = {
    FitClass.SAME_SIZE: Outcome.FITS,
    FitClass.USABLE: Outcome.FITS_WITH_CHANGE,
    FitClass.DOES_NOT_FIT: Outcome.DOES_NOT_FIT,
    FitClass.CANNOT_TELL: Outcome.NOT_KNOWN,
}
_GEOMETRY_RULE = {
    GeometryReason.CANNOT_BE_MOUNTED: (ReasonCode.BELT_MOUNT, "Length to spare when mounting"),
    GeometryReason.NEVER_GRIPPED: (ReasonCode.BELT_GRIP, "Grip of the closed drive pulley above its boss"),
    GeometryReason.SLACK_AT_FULL_SHIFT: (ReasonCode.BELT_SLACK_AT_FULL_SHIFT, "Slack at full shift"),
    GeometryReason.SLACK_AT_REST: (ReasonCode.BELT_SLACK_AT_REST, "Slack at rest"),
    GeometryReason.ABOVE_DRIVE_EDGE: (
        ReasonCode.BELT_DRIVE_EDGE,
        "Belt above the drive pulley's rim at full shift",
    ),
    GeometryReason.ABOVE_DRIVEN_EDGE: (
        ReasonCode.BELT_DRIVEN_EDGE,
        "Belt above the driven pulley's rim at rest",
    ),
    GeometryReason.ANGLE_MISMATCH: (ReasonCode.BELT_FLANK_ANGLE, "Belt angle off the groove angle"),
    GeometryReason.LOW_RATIO: (ReasonCode.BELT_LOW_RATIO, "Take-off ratio"),
    GeometryReason.HIGH_RATIO: (ReasonCode.BELT_HIGH_RATIO, "Ratio at full shift"),
    GeometryReason.BOSS: (ReasonCode.BELT_BOSS, "Underside above the drive boss at rest"),
    GeometryReason.DRIVEN_LIMIT: (ReasonCode.BELT_DRIVEN_LIMIT, "Driven pulley's travel left at full shift"),
}
_AT_LEAST = (GeometryReason.CANNOT_BE_MOUNTED, GeometryReason.NEVER_GRIPPED)
_RIM = (GeometryReason.ABOVE_DRIVE_EDGE, GeometryReason.ABOVE_DRIVEN_EDGE)
_COMPARED = (GeometryReason.BOSS, GeometryReason.DRIVEN_LIMIT)
_WHAT_HAPPENS = {
    GeometryReason.CANNOT_BE_MOUNTED: "the belt does not go over both open pulleys",
    GeometryReason.NEVER_GRIPPED: "the belt lies on the boss and is never gripped",
    GeometryReason.SLACK_AT_FULL_SHIFT: "the belt is never tensioned, no drive",
    GeometryReason.SLACK_AT_REST: "late or jerky take-off",
    GeometryReason.ABOVE_DRIVE_EDGE: "the flank is unsupported at the top",
    GeometryReason.ABOVE_DRIVEN_EDGE: "the flank is unsupported at the top",
    GeometryReason.ANGLE_MISMATCH: "one edge carries until the belt has bedded in",
}


def add_code_reasons(
    found: Findings, by_code: CodeComparison, *, lacking: dict[str, tuple[bool, bool]], is_kind_known: bool
) -> None:
    """Reasons and measurements of a comparison without pulleys.

    Args:
        found: where they go.
        by_code: the comparison.
        lacking: for each number whether the belt asked about and the need lack it.
        is_kind_known: whether both lengths are stated along the same line of the belt.
    """
    for finding in by_code.findings:
        rule, column, label = _CODE_RULE[finding.quantity]
        is_length = finding.quantity == "outer length"
        if is_length and not is_kind_known and not any(lacking[column]):
            found.add(
                ReasonCode.BELT_LENGTH_KIND,
                Outcome.NOT_KNOWN,
                "The lengths are stated along different lines of the belt (outside, pitch, inside).",
            )
            found.missing.append(build_measurement("length_kind"))
        elif finding.difference is None:
            _add_lacking(found, rule, column, label=label, lacks=lacking[column])
        elif finding.quantity == "thickness" and by_code.is_refused_by_thickness:
            said = f"{_say_difference(label, finding)}: more than {finding.limit:g}{_say_unit(finding.unit)}"
            found.add(
                rule,
                Outcome.DOES_NOT_FIT,
                f"{said}, and another number differs as well; together too far off.",
                numbers=Numbers(round(finding.difference, 3), finding.limit, finding.unit),
            )
        else:
            found.add(
                rule,
                _OUTCOME[finding.fit_class],
                _describe_difference(label, finding),
                numbers=Numbers(round(finding.difference, 3), finding.limit, finding.unit),
            )


def _add_lacking(
    found: Findings, rule: ReasonCode, column: str, *, label: str, lacks: tuple[bool, bool]
) -> None:
    who = {
        (True, True): "the belt asked about nor for the engine's own",
        (True, False): "the belt asked about",
        (False, True): "the engine's own belt",
    }[lacks]
    known = "is known neither" if all(lacks) else "is not known"
    found.add(rule, Outcome.NOT_KNOWN, f"{label} {known} for {who}.")
    place = "On the belt asked about:" if lacks == (True, False) else "On the engine's own belt:"
    found.missing.append(build_measurement(column, why=place))
    if all(lacks):
        found.missing.append(build_measurement(column, why="On the belt asked about:"))


def _describe_difference(label: str, finding: CodeFinding) -> str:
    limit = f"{finding.limit:g}{_say_unit(finding.unit)}"
    what = {
        FitClass.SAME_SIZE: f"the same size up to {limit}",
        FitClass.USABLE: f"more than {limit}, usable with the change stated",
        FitClass.CANNOT_TELL: f"more than {limit}, the pulleys decide",
        FitClass.DOES_NOT_FIT: f"more than {limit}, too far off",
    }[finding.fit_class]
    return f"{_say_difference(label, finding)}: {what}."


def _say_difference(label: str, finding: CodeFinding) -> str:
    """How the belt asked about differs from the one needed, in words."""
    difference = finding.difference or 0.0
    if abs(difference) <= TOLERANCE:
        return f"{label} is the same"
    ways = {"outer length": ("longer", "shorter"), "top width": ("wider", "narrower")}
    longer, shorter = ways.get(finding.quantity, ("more", "less"))
    way = longer if difference > 0 else shorter
    return f"{label}: {abs(difference):.3g}{_say_unit(finding.unit)} {way}"


def _say_unit(unit: str) -> str:
    return {"deg": "°", "percent": " %"}.get(unit, f" {unit}")


def add_seat_reasons(found: Findings, by_code: CodeComparison, limits: CodeLimits) -> None:
    """Reasons of size beside geometry: only the limits beyond which the seat is wrong in any case."""
    refused = {
        "outer length": limits.length_refused_mm,
        "top width": limits.top_width_refused_mm,
        "included angle": limits.angle_refused_deg,
    }
    for finding in by_code.findings:
        if finding.difference is None or finding.quantity not in refused:
            continue
        rule, _, label = _CODE_RULE[finding.quantity]
        off = finding.fit_class is FitClass.DOES_NOT_FIT
        limit = refused[finding.quantity]
        shown = f"{limit:g}{_say_unit(finding.unit)}"
        found.add(
            rule,
            Outcome.DOES_NOT_FIT if off else Outcome.FITS,
            _say_difference(label, finding)
            + (f": more than {shown}, it sits wrong." if off else f"; it can seat up to {shown} off."),
            numbers=Numbers(round(finding.difference, 3), limit, finding.unit),
        )


def add_geometry_reasons(found: Findings, in_drive: GeometryComparison) -> None:
    """Reasons of a comparison in the pulleys, each with the limit that it keeps or passes."""
    for finding in in_drive.findings:
        rule, label = _GEOMETRY_RULE[finding.name]
        found.add(
            rule,
            _OUTCOME[finding.fit_class],
            _describe_finding(label, finding),
            numbers=Numbers(round(finding.value, 3), round(finding.limit, 3), finding.unit),
        )


def _describe_finding(label: str, finding: GeometryFinding) -> str:
    unit = _say_unit(finding.unit)
    if finding.name in _RIM and finding.value < 0:
        below = label.replace("above", f"{-finding.value:.1f} mm below")
        return f"{below}, {_say_limit(finding, unit)} above it."
    if finding.name in _COMPARED and finding.fit_class is not FitClass.SAME_SIZE:
        return _describe_other_stop(label, finding.name, round(finding.value, 1))
    is_change = finding.unit == "%"
    value = (
        f"{_round_off_zero(finding.value):+.1f}{unit}"
        if is_change
        else f"{_round_off_zero(finding.value):.1f}{unit}"
    )
    text = f"{label}: {value}, {_say_limit(finding, unit)}"
    happens = _WHAT_HAPPENS.get(finding.name)
    return f"{text}: {happens}." if happens and finding.fit_class is not FitClass.SAME_SIZE else f"{text}."


def _describe_other_stop(label: str, name: GeometryReason, value_mm: float) -> str:
    """A travel that another part of the drive ends than with the specified belt."""
    left = f"{label}: {value_mm:.1f} mm" if value_mm > 0 else f"{label}: none, {-value_mm:.1f} mm short"
    if name is GeometryReason.BOSS:
        return f"{left}; unlike the specified belt it bottoms on the boss."
    ends = (
        "the rear pulley's stop ends the travel" if value_mm <= 0 else "the rear pulley's stop is not reached"
    )
    return f"{left}; unlike with the specified belt {ends}."


def _say_limit(finding: GeometryFinding, unit: str) -> str:
    """The limit in words: a smallest or a largest value, or only a comparison with the specified belt."""
    limit = f"{finding.limit:.3g}{unit}"
    is_same = finding.fit_class is FitClass.SAME_SIZE
    if finding.name in _COMPARED:
        return "as with the specified belt"
    if finding.name in _AT_LEAST:
        return f"at least {limit} needed"
    if finding.unit == "%":
        return f"no change up to {limit} either way" if is_same else f"more than {limit} either way"
    return f"at most {limit}" if is_same else f"more than {limit}"


def _round_off_zero(value: float) -> float:
    """The value to one decimal, never minus zero."""
    return round(value, 1) + 0.0
