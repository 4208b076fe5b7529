"""Rollers at hand, weighed one by one: mean mass, shift speed, and the order with the least imbalance.

A person meets it with seven odd rollers on the scale. The mean mass decides the shift speed; the order round
the circle decides the balance. A set that stays out of balance in its best order is refused, and so is a set
that is not of the number that the engine needs. It says nothing about worn or cracked rollers.

Source: balance and shift speed as ``kb.mechanics``; limits of imbalance judgement of this project. Where
the radius of the roller centres is not known, the outer radius of the pulley is an upper bound for it: what
is balanced there is balanced.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from kb.errors import BadInput
from kb.mechanics.rollers import (
    BalanceClass,
    BalanceLimits,
    best_order,
    classify_imbalance,
    imbalance_force_n,
    imbalance_g_mm,
    mean_mass_g,
)
from kb.mechanics.shift_force import shift_speed_change_percent
from kb.rules.said_figures import say_figures, say_percent

SPREAD_NOTE_SHARE = 0.02
DEFAULT_LIMITS = BalanceLimits()
UNIT_RADIUS_MM = 1.0
BALANCED = 1e-6


class RollerState(StrEnum):
    """What may be done with the set."""

    FINE = "fine"
    NOTE = "note"
    REFUSED = "refused"
    NOT_KNOWN = "not_known"


class RadiusBasis(StrEnum):
    """Where the radius of the roller centres comes from."""

    GIVEN = "given"
    UPPER_BOUND = "upper_bound"
    NOT_KNOWN = "not_known"


@dataclass(frozen=True, slots=True)
class RollerPlace:
    """What the engine needs and what is known of its drive; None is not known."""

    need_mass_g: float | None = None
    need_count: int | None = None
    radius_mm: float | None = None
    outer_radius_mm: float | None = None
    max_rpm: float | None = None


@dataclass(frozen=True, slots=True)
class RollerSetAnswer:
    """The set in its best order. Imbalance is None while the radius is not known and it is not nought."""

    masses_g: tuple[float, ...]
    mean_mass_g: float
    need_mass_g: float | None
    need_count: int | None
    shift_speed_change_percent: float | None
    order: tuple[int, ...]
    order_masses_g: tuple[float, ...]
    radius_mm: float | None
    radius_basis: RadiusBasis
    imbalance_g_mm: float | None
    as_listed_g_mm: float | None
    force_n: float | None
    force_rpm: float | None
    limits: BalanceLimits
    state: RollerState
    reasons: tuple[str, ...]
    text: str


def judge_roller_set(
    masses_g: Sequence[float], place: RollerPlace, *, limits: BalanceLimits = DEFAULT_LIMITS
) -> RollerSetAnswer:
    """What a set of weighed rollers does on an engine.

    Args:
        masses_g: the masses as weighed [g], 3 to 9 rollers, each above 0.
        place: what the engine needs; radius of the roller centres [mm] where known.
        limits: limits of the imbalance [g·mm].

    Returns:
        ``fine`` below the first limit, ``note`` up to the second, ``refused`` beyond it or with another
        number of rollers than needed, ``not_known`` when the radius is lacking and would decide.

    Raises:
        BadInput: fewer than 3 rollers, more than 9, or a mass that is not above 0.

    Source: as the module.

    Example:
        >>> judge_roller_set([7, 6, 7, 6, 7, 6], RollerPlace(need_mass_g=6.5, need_count=6)).state.value
        'fine'
        >>> judge_roller_set([7, 6, 6, 6, 6, 6], RollerPlace(6.5, 6, radius_mm=45.0)).state.value
        'refused'
    """
    masses = tuple(float(mass) for mass in masses_g)
    if len(masses) < 3:
        raise BadInput(
            f"Roller count '{len(masses)}' is below 3; weigh every roller of the set and write each mass.",
            field="masses_g",
        )
    radius_mm, basis = _find_radius(place)
    order = best_order(masses, radius_mm or UNIT_RADIUS_MM)
    is_balanced = order.imbalance_g_mm / (radius_mm or UNIT_RADIUS_MM) < BALANCED
    imbalance = 0.0 if is_balanced else (order.imbalance_g_mm if radius_mm else None)
    state, reasons = _rank(masses, place, imbalance, basis=basis, limits=limits)
    mean = mean_mass_g(masses)
    change = shift_speed_change_percent(place.need_mass_g, mean) if place.need_mass_g else None
    return RollerSetAnswer(
        masses_g=masses,
        mean_mass_g=mean,
        need_mass_g=place.need_mass_g,
        need_count=place.need_count,
        shift_speed_change_percent=change,
        order=order.positions,
        order_masses_g=order.masses_g,
        radius_mm=radius_mm,
        radius_basis=basis,
        imbalance_g_mm=imbalance,
        as_listed_g_mm=imbalance_g_mm(masses, radius_mm) if radius_mm else None,
        force_n=imbalance_force_n(imbalance, place.max_rpm) if imbalance and place.max_rpm else None,
        force_rpm=place.max_rpm,
        limits=limits,
        state=state,
        reasons=reasons,
        text=_describe(state, mean, change),
    )


def _find_radius(place: RollerPlace) -> tuple[float | None, RadiusBasis]:
    if place.radius_mm is not None:
        return place.radius_mm, RadiusBasis.GIVEN
    if place.outer_radius_mm is not None:
        return place.outer_radius_mm, RadiusBasis.UPPER_BOUND
    return None, RadiusBasis.NOT_KNOWN


def _rank(
    masses: tuple[float, ...],
    place: RollerPlace,
    imbalance: float | None,
    *,
    basis: RadiusBasis,
    limits: BalanceLimits,
) -> tuple[RollerState, tuple[str, ...]]:
    if place.need_count is not None and len(masses) != place.need_count:
        return RollerState.REFUSED, (
            f"{len(masses)} rollers were weighed, the engine needs {place.need_count}.",
        )
    if imbalance is None:
        return RollerState.NOT_KNOWN, (
            "Its best order leaves an imbalance; how much depends on the radius of the roller centres, "
            "which is not recorded: measure it from the shaft's centre.",
        )
    found = classify_imbalance(imbalance, limits)
    said = f"an imbalance of {say_figures(imbalance)} g·mm" if imbalance >= 0.5 else "no imbalance"
    if found is BalanceClass.FINE:
        return RollerState.FINE, (
            f"In the best order {said} is left; below {limits.fine_g_mm:g} g·mm it is not felt.",
        )
    if basis is RadiusBasis.UPPER_BOUND:
        return RollerState.NOT_KNOWN, (
            f"At most {said} is left, taking the pulley's outer radius for that of the roller centres; "
            "measure the radius of the roller centres to decide.",
        )
    if found is BalanceClass.NOTE:
        return RollerState.NOTE, (
            f"In the best order {said} is left: more than {limits.fine_g_mm:g}, not above "
            f"{limits.note_g_mm:g} g·mm. It may be felt.",
        )
    return RollerState.REFUSED, (
        f"Even in the best order {said} is left, above {limits.note_g_mm:g} g·mm: out of balance. "
        "Use rollers of one mass, or other numbers of each.",
    )


_STATE_TEXT = {
    RollerState.FINE: "may be fitted in the order shown",
    RollerState.NOTE: "may be fitted in the order shown, slightly out of balance",
    RollerState.REFUSED: "must not be fitted",
    RollerState.NOT_KNOWN: "no verdict from what is known",
}


def _describe(state: RollerState, mean: float, change: float | None) -> str:
    if change is None:
        shift = "shift speed not known, because the mass that the engine needs is not"
    elif abs(change) < 0.05:
        shift = "shift speed as with the mass needed"
    else:
        way = "later, at a higher" if change > 0 else "earlier, at a lower"
        shift = f"shifts {way} engine speed ({say_percent(change)})"
    return f"Mean mass {mean:.2f} g, {shift}: {_STATE_TEXT[state]}."
