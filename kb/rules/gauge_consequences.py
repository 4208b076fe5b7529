"""What wear at a position changes on the machine, in numbers as far as the machine's own numbers allow.

A person meets these as "up to 5 % of top speed", "6 % less clamp". They compare the worn part with a new one
in the same machine at the same engine speed; they do not tell real top speed, belt life, or slip under load.

Source: geometry and springs as ``kb.mechanics``; "up to", because rollers that still have travel close the
drive pulley further on a narrow belt. Without a drive: about 1 % of top speed per 0.1 mm of width (computed
on two made-up drives, good for the first millimetre). A smaller roller leaves a gap: derived in this project.

Example:
    >>> from kb.rules.gauge_values import GaugeLimit, GaugeReading
    >>> from kb.rules.fit.values import SpringNeed
    >>> from kb.rules.source import SourceRef
    >>> from kb.terms import Position, SourceKind
    >>> need = SpringNeed(SourceRef("m1", SourceKind.MANUAL), installed_length_mm=70.0)
    >>> reading = GaugeReading("plover-50-s", Position.CONTRA_SPRING, "free_length", 118.0)
    >>> machine = GaugeMachine(contra_spring=need)
    >>> found = find_consequences(reading, GaugeLimit(122.0, 116.0), machine=machine)
    >>> round(found.consequences[0].change_percent, 1)
    -7.7
"""

from collections.abc import Callable
from math import sqrt

from kb.mechanics.contra_spring import preload_loss_percent
from kb.mechanics.shift_force import shift_speed_change_percent
from kb.rules.fit.values import Measurement, SpringNeed
from kb.rules.gauge_belt_wear import judge_belt_width, judge_roller_diameter
from kb.rules.gauge_values import GaugeConsequence, GaugeLimit, GaugeMachine, GaugeReading, Wear, WearFindings
from kb.rules.quantity import EQUAL
from kb.rules.said_figures import say_percent
from kb.terms import Position

# Units in which the machine's own numbers are kept; a row without a unit is in mm.
_UNITS = (None, "mm", "g")


def find_consequences(reading: GaugeReading, limit: GaugeLimit, *, machine: GaugeMachine) -> WearFindings:
    """Consequences of the wear, the measurements that more numbers would need, and what was filled in.

    Args:
        reading: the measured value; its quantity in its one spelling.
        limit: size when new; without it nothing can be said.
        machine: what is known of the machine.

    Returns:
        Nothing for a part that is not worn, or for a quantity without a known consequence.

    Source: as the module.
    """
    found = WearFindings()
    rule = _RULES.get((reading.position, reading.quantity))
    if rule is None or limit.unit not in _UNITS or limit.nominal is None:
        return found
    if abs(limit.nominal - reading.value) > EQUAL:
        rule(found, Wear(limit.nominal, reading.value, machine))
    return found


def _judge_roller_mass(found: WearFindings, wear: Wear) -> None:
    if wear.now <= 0:
        return
    change_percent = shift_speed_change_percent(wear.new, wear.now)
    way = "Shifts later, engine turns higher" if change_percent > 0 else "Shifts earlier, engine turns lower"
    found.consequences.append(
        GaugeConsequence(
            "shift_speed", f"{way}: {say_percent(change_percent)}.", change_percent=change_percent
        )
    )


def _judge_contra_spring(found: WearFindings, wear: Wear) -> None:
    spring = wear.machine.contra_spring
    if wear.lost < 0:
        return
    if spring is None or spring.installed_length_mm is None:
        found.lacking.append(
            Measurement("installed_length_mm", "Length of the contra spring in place, at rest.")
        )
        return
    loss = _preload_loss(wear, spring.installed_length_mm)
    if loss is None:
        found.lacking.append(
            Measurement("installed_length_mm", "Measure again: as recorded, a new spring has no preload.")
        )
        return
    found.consequences.append(
        GaugeConsequence(
            "clamp_force",
            f"The spring clamps the belt {say_percent(loss)} less at rest: it may slip and shift up early.",
            change_percent=-loss,
        )
    )
    _add_loss_at_full_shift(found, wear, spring)
    if loss < 100.0:
        change_percent = (sqrt(1.0 - loss / 100.0) - 1.0) * 100.0
        found.consequences.append(
            GaugeConsequence(
                "shift_speed",
                f"Shifting starts at an engine speed {say_percent(change_percent)} lower, torque left aside.",
                change_percent=change_percent,
            )
        )


def _add_loss_at_full_shift(found: WearFindings, wear: Wear, spring: SpringNeed) -> None:
    loss = _preload_loss(wear, spring.shortest_length_mm)
    if loss is not None:
        found.consequences.append(
            GaugeConsequence(
                "clamp_force_full_shift",
                f"At full shift it clamps {say_percent(loss)} less.",
                change_percent=-loss,
            )
        )


def _preload_loss(wear: Wear, length_mm: float | None) -> float | None:
    """Share of the spring's force lost at a length [%], 100 at most; None when a new one has none there."""
    if length_mm is None or wear.new <= length_mm:
        return None
    return preload_loss_percent(wear.new, wear.lost, length_mm=length_mm)


def _judge_lining(found: WearFindings, wear: Wear) -> None:
    if wear.lost > 0:
        _add_clearance(found, wear.lost, "Linings have lost")


def _judge_bell_bore(found: WearFindings, wear: Wear) -> None:
    if wear.lost < 0:
        _add_clearance(found, -wear.lost / 2.0, "The bell has grown by")


def _add_clearance(found: WearFindings, clearance_mm: float, what: str) -> None:
    found.consequences.append(
        GaugeConsequence(
            "shoe_clearance",
            f"{what} {clearance_mm:.2g} mm per shoe: shoes travel that much further, engagement comes later.",
            change=clearance_mm,
            unit="mm",
        )
    )


def _judge_clutch_spring(found: WearFindings, wear: Wear) -> None:
    if wear.lost < 0:
        found.consequences.append(
            GaugeConsequence(
                "engagement_speed",
                f"A clutch spring {round(-wear.lost, 2):g} mm longer than new pulls less: the clutch engages "
                "early and the scooter creeps at idle. Replace all of them together.",
                change=-wear.lost,
                unit="mm",
            )
        )


def _judge_play(found: WearFindings, wear: Wear) -> None:
    play_mm = abs(wear.lost)
    found.consequences.append(
        GaugeConsequence(
            "play",
            f"{round(play_mm, 3):g} mm more play than new: sticky or jerky shifting, noise.",
            change=play_mm,
            unit="mm",
        )
    )


_RULES: dict[tuple[Position, str], Callable[[WearFindings, Wear], None]] = {
    (Position.DRIVE_BELT, "top_width"): judge_belt_width,
    (Position.ROLLERS, "mass"): _judge_roller_mass,
    (Position.ROLLERS, "diameter"): judge_roller_diameter,
    (Position.CONTRA_SPRING, "free_length"): _judge_contra_spring,
    (Position.CLUTCH_SHOES, "lining_thickness"): _judge_lining,
    (Position.CLUTCH_BELL, "bore"): _judge_bell_bore,
    (Position.CLUTCH_SPRINGS, "free_length"): _judge_clutch_spring,
    (Position.DRIVE_BOSS, "outside"): _judge_play,
    (Position.VARIATOR, "bore"): _judge_play,
    (Position.GUIDE_PINS, "outside"): _judge_play,
}
