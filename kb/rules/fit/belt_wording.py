"""Words for what a belt comparison found: reasons with their limits, consequences, what to measure."""

from kb.mechanics.belt_code_comparison import PULLEY_GEOMETRY, CodeComparison, CodeFinding, CodeLimits
from kb.mechanics.belt_geometry_comparison import GeometryComparison, GeometryFinding, GeometryReason
from kb.mechanics.drive_range import DriveRange
from kb.mechanics.fit_class import FitClass
from kb.rules.fit.findings import Findings
from kb.rules.fit.measuring import build_measurement
from kb.rules.fit.reasons import ReasonCode
from kb.rules.fit.values import Consequence, DriveData
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
_WHAT_HAPPENS = {
    GeometryReason.CANNOT_BE_MOUNTED: "the belt does not go over both open pulleys",
    GeometryReason.NEVER_GRIPPED: "the belt lies on the boss and is never gripped",
    GeometryReason.SLACK_AT_FULL_SHIFT: "the belt is never tensioned, no drive",
    GeometryReason.SLACK_AT_REST: "late or jerky take-off",
    GeometryReason.ABOVE_DRIVE_EDGE: "the flank is unsupported at the top",
    GeometryReason.ABOVE_DRIVEN_EDGE: "the flank is unsupported at the top",
    GeometryReason.ANGLE_MISMATCH: "one edge carries until the belt has bedded in",
    GeometryReason.BOSS: "the belt bottoms on the boss at rest",
    GeometryReason.DRIVEN_LIMIT: "another stop ends the travel than with the specified belt",
}


def add_code_reasons(found: Findings, by_code: CodeComparison, *, is_kind_known: bool) -> None:
    """Reasons and measurements of a comparison without pulleys."""
    for finding in by_code.findings:
        rule, column, label = _CODE_RULE[finding.quantity]
        if finding.quantity == "outer length" and not is_kind_known:
            found.add(
                ReasonCode.BELT_LENGTH_KIND,
                Outcome.NOT_KNOWN,
                "The lengths are stated along different lines of the belt (outside, pitch, inside).",
            )
            found.missing.append(build_measurement("length_kind"))
        elif finding.difference is None:
            found.add(rule, Outcome.NOT_KNOWN, f"{label} is not known for both belts.")
            found.missing.append(build_measurement(column))
        else:
            found.add(
                rule,
                _OUTCOME[finding.fit_class],
                _describe_difference(label, finding),
                value=round(finding.difference, 3),
                limit=finding.limit,
                unit=finding.unit,
            )
    if PULLEY_GEOMETRY in by_code.measure:
        found.missing.append(build_measurement("drive"))


def _describe_difference(label: str, finding: CodeFinding) -> str:
    keeps = finding.fit_class in (FitClass.SAME_SIZE, FitClass.USABLE)
    side = "no more than" if keeps and finding.fit_class is FitClass.SAME_SIZE else "more than"
    unit = "°" if finding.unit == "deg" else f" {finding.unit}"
    what = {
        FitClass.SAME_SIZE: "the same size",
        FitClass.USABLE: "usable, with the change stated",
        FitClass.CANNOT_TELL: "the pulleys decide",
        FitClass.DOES_NOT_FIT: "too far off",
    }[finding.fit_class]
    return f"{label} differs by {finding.difference:+.3g}{unit}, {side} {finding.limit:g}{unit}: {what}."


def add_seat_reasons(found: Findings, by_code: CodeComparison, limits: CodeLimits) -> None:
    """Reasons of size beside geometry: only the limits beyond which the seat is wrong whatever the ratios say."""
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
        unit = "°" if finding.unit == "deg" else f" {finding.unit}"
        limit = refused[finding.quantity]
        found.add(
            rule,
            Outcome.DOES_NOT_FIT if off else Outcome.FITS,
            f"{label} differs by {finding.difference:+.3g}{unit}"
            + (f", more than {limit:g}{unit}: sits wrong." if off else f"; seats up to {limit:g}{unit} off."),
            value=round(finding.difference, 3),
            limit=limit,
            unit=finding.unit,
        )


def add_geometry_reasons(found: Findings, in_drive: GeometryComparison) -> None:
    """Reasons of a comparison in the pulleys, each with the limit that it keeps or passes."""
    for finding in in_drive.findings:
        rule, label = _GEOMETRY_RULE[finding.name]
        found.add(
            rule,
            _OUTCOME[finding.fit_class],
            _describe_finding(label, finding),
            value=round(finding.value, 3),
            limit=round(finding.limit, 3),
            unit=finding.unit,
        )


def _describe_finding(label: str, finding: GeometryFinding) -> str:
    unit = {"deg": "°", "percent": " %", "%": " %"}.get(finding.unit, f" {finding.unit}")
    value = (
        f"{finding.value:+.1f}{unit}" if finding.unit in ("percent", "%") else f"{finding.value:.1f}{unit}"
    )
    text = f"{label}: {value}, limit {finding.limit:.3g}{unit}"
    happens = _WHAT_HAPPENS.get(finding.name)
    return f"{text}: {happens}." if happens and finding.fit_class is not FitClass.SAME_SIZE else f"{text}."


def add_geometry_consequences(found: Findings, in_drive: GeometryComparison, drive: DriveData | None) -> None:
    """What the rider notices, in percent at the same engine speed."""
    top, low = in_drive.top_speed_change_percent, in_drive.low_ratio_change_percent
    if top is not None:
        way = "higher" if top > 0 else "lower"
        text = (
            "Top speed unchanged."
            if abs(top) < 0.05
            else f"Top speed {top:+.1f} % ({way}) at the same engine speed."
        )
        found.consequences.append(Consequence("top_speed", text, round(top, 2)))
    if low is not None:
        way = "stronger, earlier through the revs" if low > 0 else "taller first ratio, weaker"
        text = "Take-off unchanged." if abs(low) < 0.05 else f"Take-off ratio {low:+.1f} %: {way}."
        found.consequences.append(Consequence("low_ratio", text, round(low, 2)))
    _add_engagement(found, in_drive, drive)


def _add_engagement(found: Findings, in_drive: GeometryComparison, drive: DriveData | None) -> None:
    """Creep: the clutch sits on the driven shaft, so it engages at clutch speed times the first ratio."""
    ranges = in_drive.need_range, in_drive.asked_range
    if drive is None or drive.clutch_rpm is None or ranges[1] is None or not ranges[1].ratio_low:
        return
    engages_rpm = drive.clutch_rpm * ranges[1].ratio_low
    found.consequences.append(
        Consequence(
            "engagement_speed",
            f"Clutch engages at about {engages_rpm:.0f} r/min of the engine.",
            _find_ratio_change(*ranges),
        )
    )
    if drive.idle_rpm is not None and drive.idle_rpm >= engages_rpm:
        found.consequences.append(
            Consequence("creep", f"Pulls away at idle ({drive.idle_rpm:.0f} r/min): creep, unsafe at a stop.")
        )


def _find_ratio_change(need: DriveRange | None, asked: DriveRange | None) -> float | None:
    if need is None or asked is None or not need.ratio_low or not asked.ratio_low:
        return None
    return round((asked.ratio_low / need.ratio_low - 1) * 100, 2)


def add_code_consequences(found: Findings, by_code: CodeComparison) -> None:
    """Rough change of top speed where the pulleys are not known."""
    change = by_code.top_speed_change_percent
    if change is None or abs(change) < 0.05:
        return
    way = "higher" if change > 0 else "lower"
    found.consequences.append(
        Consequence(
            "top_speed",
            f"Top speed about {change:+.0f} % ({way}) at the same engine speed; low confidence without the pulleys.",
            round(change, 1),
        )
    )
