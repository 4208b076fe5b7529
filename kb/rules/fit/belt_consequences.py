"""What the rider notices of another belt, in percent at the same engine speed.

Take-off: the clutch sits on the driven shaft, so it engages at clutch speed times the first ratio; where that
falls to the idle speed the machine creeps. Wrong angle: one edge carries until the belt has worn to the
grooves, by up to twice the opening per side, which lets it ride deeper.

Source: geometry derived in this project; that the clutch sits on the driven shaft is common practice, no
source.
"""

from dataclasses import dataclass
from math import radians, tan

from kb.mechanics.belt_code_comparison import CodeComparison
from kb.mechanics.belt_geometry_comparison import GeometryComparison
from kb.rules.fit.findings import Findings
from kb.rules.fit.values import Consequence, DriveData
from kb.rules.said_figures import say_figures, say_percent, say_printed_change

NOTICED_PERCENT = 0.05


@dataclass(frozen=True, slots=True)
class Bedding:
    """A belt whose angle is not that of the groove.

    Attributes:
        belt_deg: included angle of the belt.
        groove_deg: included angle of the groove of the worse pulley.
        opening_mm: gap at the edge that does not carry, per side.
        change_percent: further change of top speed once it has bedded in [%], None where it cannot be told.
    """

    belt_deg: float
    groove_deg: float
    opening_mm: float
    change_percent: float | None


def round_drive_changes(in_drive: GeometryComparison) -> list[float]:
    """Changes of top speed and of the take-off ratio as the answer states them [%]; those that are known."""
    changes = (in_drive.top_speed_change_percent, in_drive.low_ratio_change_percent)
    return [round(change, 2) + 0.0 for change in changes if change is not None]


def round_code_change(by_code: CodeComparison) -> float | None:
    """Rough change of top speed as the answer states it [%]; None where it is not known or not noticed."""
    change = by_code.top_speed_change_percent
    return None if change is None or abs(change) < NOTICED_PERCENT else round(change, 1)


def add_geometry_consequences(found: Findings, in_drive: GeometryComparison, drive: DriveData | None) -> None:
    """Top speed, take-off and engagement with the asked belt in the engine's own pulleys."""
    top, low = in_drive.top_speed_change_percent, in_drive.low_ratio_change_percent
    if top is None or low is None:
        return
    top_text = "Top speed unchanged."
    if abs(top) >= NOTICED_PERCENT:
        way = "higher" if top > 0 else "lower"
        top_text = f"Top speed {say_printed_change(top)} {way} at the same engine speed."
    low_text = "Take-off unchanged."
    if abs(low) >= NOTICED_PERCENT:
        way = (
            "higher: stronger take-off at more revs"
            if low > 0
            else "lower: weaker take-off, earlier engagement"
        )
        low_text = f"Take-off ratio {say_printed_change(low)} {way}."
    found.consequences.append(Consequence("top_speed", top_text, round(top, 2) + 0.0))
    found.consequences.append(Consequence("low_ratio", low_text, round(low, 2) + 0.0))
    _add_engagement(found, in_drive, drive)


def _add_engagement(found: Findings, in_drive: GeometryComparison, drive: DriveData | None) -> None:
    """Engine speed at which the clutch engages, and creep."""
    asked, low = in_drive.asked_range, in_drive.low_ratio_change_percent
    if drive is None or drive.clutch_rpm is None or asked is None or not asked.ratio_low or low is None:
        return
    engages_rpm = drive.clutch_rpm * asked.ratio_low
    text = f"Clutch engages at about {say_figures(engages_rpm)} r/min of the engine."
    found.consequences.append(Consequence("engagement_speed", text, round(low, 2) + 0.0))
    if drive.idle_rpm is not None and drive.idle_rpm >= engages_rpm:
        text = f"Pulls away at idle ({drive.idle_rpm:.0f} r/min): it creeps, which is unsafe at a stop."
        found.consequences.append(Consequence("creep", text))
        found.cautions.append(f"WARNING: {text[0].lower()}{text[1:]}")


def add_bedding_consequence(found: Findings, bedding: Bedding | None) -> None:
    """What an angle that is not that of the groove means, and what bedding in costs."""
    if bedding is None:
        return
    wide = bedding.belt_deg > bedding.groove_deg
    carries, opens = ("top", "bottom") if wide else ("bottom", "top")
    wear_mm = 2 * bedding.opening_mm
    deeper_mm = wear_mm / (2 * tan(radians(bedding.groove_deg) / 2))
    text = (
        f"A belt of {bedding.belt_deg:g}° in a groove of {bedding.groove_deg:g}°: "
        f"the {carries} edge carries, the {opens} edge stands open by {bedding.opening_mm:.2f} mm per side. "
        f"It beds in by wearing up to {wear_mm:.2f} mm of width, "
        f"which lets it ride up to {deeper_mm:.2f} mm deeper"
    )
    change = bedding.change_percent
    if change is not None and abs(change) >= NOTICED_PERCENT:
        text += f" and takes up to another {say_printed_change(change)} of top speed"
    found.consequences.append(Consequence("flank_opening", f"{text}."))


def add_code_consequences(found: Findings, by_code: CodeComparison) -> None:
    """Rough change of top speed where the pulleys are not known."""
    change = round_code_change(by_code)
    if change is None:
        return
    way = "higher" if change > 0 else "lower"
    text = f"Top speed {say_percent(change)} {way} at the same engine speed; low confidence without "
    text += "the pulleys."
    found.consequences.append(Consequence("top_speed", text, change))
