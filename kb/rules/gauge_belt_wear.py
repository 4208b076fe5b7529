"""What a narrow belt, or rollers that have lost diameter, change in the drive: the wedge and its range.

A person meets these as "rides 4 mm deeper", "up to 5 % of top speed", "hangs slack at rest". They compare
with a new part in the same pulleys; they do not tell slip or belt life.

Source: geometry as ``kb.mechanics``; without a drive about 1 % of top speed per 0.1 mm of width (computed on
two made-up drives, good for the first millimetre). A smaller roller leaves a gap of about what it lost: the
roller lies between ramp and plate, so the halves close by that much less; derived in this project.
"""

from dataclasses import replace

from kb.mechanics.belt_length import convert_belt_length_mm
from kb.mechanics.drive_range import Belt, Drive, DriveRange, Pulley, find_range
from kb.mechanics.wedge import groove_radius_change_mm
from kb.rules.fit.values import BeltNeed, Measurement
from kb.rules.gauge_values import GaugeConsequence, GaugeMachine, Wear, WearFindings
from kb.rules.quantity import EQUAL
from kb.rules.said_figures import say_mm, say_percent, say_up_to
from kb.terms import LengthKind

DEFAULT_CORD_DEPTH_MM = 2.0
TOP_SPEED_PERCENT_PER_MM = 10.0
FIRST_MILLIMETRE = 1.0


def judge_belt_width(found: WearFindings, wear: Wear) -> None:
    """Ride depth, top speed, slack at rest and boss contact of a belt that has lost width."""
    if wear.lost < 0:
        return
    angle_deg, guessed = _find_groove_angle(wear.machine)
    if angle_deg is None:
        found.lacking.append(Measurement("angle_deg", "Groove angle, or the angle in the belt's code."))
    else:
        depth_mm = groove_radius_change_mm(wear.lost, angle_deg)
        note = ", taking the belt's angle for the groove's" if guessed else ""
        found.consequences.append(
            GaugeConsequence(
                "ride_depth",
                f"The belt rides {say_mm(depth_mm)} deeper in the {angle_deg:g}° groove{note}.",
                change=depth_mm,
                unit="mm",
            )
        )
    ranges = _find_ranges(found, wear)
    if ranges:
        _compare_ranges(found, *ranges)
    else:
        _estimate_top_speed(found, wear)


def _find_groove_angle(machine: GaugeMachine) -> tuple[float | None, bool]:
    if machine.drive:
        return machine.drive.drive.drive.angle_deg, False
    return (machine.belt.angle_deg, True) if machine.belt else (None, False)


def _find_ranges(found: WearFindings, wear: Wear) -> tuple[DriveRange, DriveRange] | None:
    """Range with the belt when new and now; None, with what is lacking, when it can't be computed."""
    machine = wear.machine
    if machine.drive is None or machine.belt is None:
        found.lacking.append(Measurement("drive", "Centre distance, radii and gaps of both pulleys."))
        return None
    belt = _build_belt(machine.belt, machine.drive.cord_depth_mm, top_width_mm=wear.new)
    if belt.length_mm is None:
        found.lacking.append(
            Measurement("length_mm", "Outside length of the belt, tape round it lying in a circle.")
        )
    if belt.thickness_mm is None:
        found.lacking.append(Measurement("thickness_mm", "Thickness of the belt over the cogs."))
    if belt.length_mm is None or belt.thickness_mm is None:
        return None
    _note_assumptions(found, machine.belt, machine.drive.cord_depth_mm)
    before = find_range(machine.drive.drive, belt)
    if not before.is_driving:
        found.lacking.append(
            Measurement("drive", "Measure the pulleys again: as recorded, a new belt would not run.")
        )
        return None
    return before, find_range(machine.drive.drive, replace(belt, top_width_mm=wear.now))


def _note_assumptions(found: WearFindings, need: BeltNeed, cord_depth_mm: float | None) -> None:
    if cord_depth_mm is None:
        found.cautions.append(f"The cord depth is not recorded; {DEFAULT_CORD_DEPTH_MM:g} mm was taken.")
    if not need.length_kind:
        found.cautions.append("The kind of belt length is not recorded; outside length was taken.")


def _build_belt(need: BeltNeed, cord_depth_mm: float | None, *, top_width_mm: float) -> Belt:
    """The engine's belt at a width. An unstated kind of length is outside; an unknown cord depth is 2 mm."""
    cord_mm = DEFAULT_CORD_DEPTH_MM if cord_depth_mm is None else cord_depth_mm
    kind = LengthKind(need.length_kind or LengthKind.OUTSIDE)
    length_mm = need.length_mm
    if length_mm is not None and kind is LengthKind.INSIDE and need.thickness_mm is None:
        length_mm = None
    if length_mm is not None:
        length_mm = convert_belt_length_mm(
            length_mm,
            kind,
            to=LengthKind.OUTSIDE,
            thickness_mm=need.thickness_mm,
            cord_depth_mm=cord_mm,
        )
    return Belt(length_mm, top_width_mm, need.angle_deg, need.thickness_mm, cord_mm)


def _compare_ranges(found: WearFindings, before: DriveRange, after: DriveRange) -> None:
    if after.ratio_high is None or after.ratio_low is None:
        found.consequences.append(
            GaugeConsequence("drive", "The belt is so narrow that the drive pulley no longer drives it.")
        )
        return
    _add_top_speed(found, before, after)
    if after.slack_at_rest_mm > before.slack_at_rest_mm + EQUAL:
        found.consequences.append(
            GaugeConsequence(
                "slack_at_rest",
                f"The belt hangs {say_mm(after.slack_at_rest_mm)} slack at rest: late, jerky take-off.",
                change=after.slack_at_rest_mm,
                unit="mm",
            )
        )
    if after.has_boss_contact and not before.has_boss_contact:
        found.consequences.append(
            GaugeConsequence(
                "boss_clearance",
                "The belt bottoms on the drive boss at rest: it would sit "
                f"{say_mm(-after.boss_clearance_mm)} deeper than the boss lets it.",
                change=after.boss_clearance_mm,
                unit="mm",
            )
        )


def _add_top_speed(found: WearFindings, before: DriveRange, after: DriveRange) -> None:
    """Change of top speed; nothing when the belt does not drive."""
    if before.ratio_high is None or after.ratio_high is None:
        return
    change_percent = (before.ratio_high / after.ratio_high - 1.0) * 100.0
    way, most = "falls" if change_percent < 0 else "rises", say_up_to(say_percent(change_percent))
    found.consequences.append(
        GaugeConsequence(
            "top_speed",
            f"Top speed {way} by {most} at the same engine speed.",
            change_percent=change_percent,
        )
    )


def _estimate_top_speed(found: WearFindings, wear: Wear) -> None:
    """The rule of thumb for the first millimetre; beyond it only a bound can be stated."""
    change_percent = -TOP_SPEED_PERCENT_PER_MM * min(wear.lost, FIRST_MILLIMETRE)
    bound = "up to about" if wear.lost <= FIRST_MILLIMETRE else "by more than"
    found.consequences.append(
        GaugeConsequence(
            "top_speed",
            f"Top speed down {bound} {-change_percent:.0f} % (rule of thumb; the pulleys are not recorded).",
            change_percent=change_percent if wear.lost <= FIRST_MILLIMETRE else None,
        )
    )


def judge_roller_diameter(found: WearFindings, wear: Wear) -> None:
    """Smaller rollers leave the drive pulley open by about what they lost, as a washer of that size would."""
    if wear.lost < 0:
        return
    angle_deg, _ = _find_groove_angle(wear.machine)
    if angle_deg is not None:
        depth_mm = groove_radius_change_mm(wear.lost, angle_deg)
        found.consequences.append(
            GaugeConsequence(
                "ride_depth",
                f"At full shift the belt stays {say_up_to(say_mm(depth_mm))} lower on the drive pulley: "
                "the halves close less, where roller travel is the stop.",
                change=depth_mm,
                unit="mm",
            )
        )
    if wear.machine.drive and wear.machine.belt and wear.machine.belt.top_width_mm is not None:
        _compare_wider_gap(found, wear, top_width_mm=wear.machine.belt.top_width_mm)
    found.consequences.append(
        GaugeConsequence(
            "shift_speed", "Flat spots make it shift in jerks and rattle; no number can be given."
        )
    )


def _compare_wider_gap(found: WearFindings, wear: Wear, *, top_width_mm: float) -> None:
    ranges = _find_ranges(found, Wear(top_width_mm, top_width_mm, wear.machine))
    drive_data, belt_need = wear.machine.drive, wear.machine.belt
    if ranges is None or drive_data is None or belt_need is None:
        return
    belt = _build_belt(belt_need, drive_data.cord_depth_mm, top_width_mm=top_width_mm)
    _add_top_speed(found, ranges[0], find_range(_open_drive(drive_data.drive, wear.lost), belt))


def _open_drive(drive: Drive, gap_mm: float) -> Drive:
    """The drive with its front pulley kept further open at full shift."""
    front: Pulley = drive.drive
    closed_mm = front.gap_closed_mm + gap_mm
    return replace(
        drive, drive=replace(front, gap_closed_mm=closed_mm, gap_open_mm=max(front.gap_open_mm, closed_mm))
    )
