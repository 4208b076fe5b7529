"""Is a stored torque plausible for its thread? Catches slips of unit and of the decimal point.

The upper limit is the generic torque of a dry steel screw of an assumed property class, the lower one a
tenth of it. Both are limits for a second look, never the torque of a job, and are always labelled generic.

Source: generic torque computed from ISO 898-1; the limits are a judgement of this project.
"""

from dataclasses import dataclass
from enum import StrEnum

from kb.errors import BadInput
from kb.standards.generic_torques import find_generic_torque
from kb.standards.proof_loads import find_proof_load
from kb.units import NM_PER_KGF_CM, NM_PER_KGF_M, NM_PER_LBF_IN

ASSUMED_CLASS = "10.9"
UNMARKED_CLASS = "4.8"


class TorqueState(StrEnum):
    """Where a torque lies against what its thread would bear."""

    PLAUSIBLE = "plausible"
    TOO_HIGH = "too_high"
    TOO_LOW = "too_low"
    NOT_KNOWN = "not_known"


@dataclass(frozen=True, slots=True)
class TorqueSanitySettings:
    """Limits of the check; a judgement of this project."""

    lowest_share: float = 0.1


DEFAULT_SETTINGS = TorqueSanitySettings()


@dataclass(frozen=True, slots=True)
class TorqueSanity:
    """State of a torque, the limits [N·m] with their label, and what unit slip would explain it."""

    state: TorqueState
    lowest_nm: float | None
    highest_nm: float | None
    label: str
    text: str
    hints: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _UnitSlip:
    """A unit that may have been taken for N·m, and how many N·m it is."""

    unit: str
    factor: float


SLIPS_UPWARD = (
    _UnitSlip("kgf·cm", float(NM_PER_KGF_CM)),
    _UnitSlip("lbf·in", float(NM_PER_LBF_IN)),
)
SLIPS_DOWNWARD = (_UnitSlip("kgf·m", float(NM_PER_KGF_M)),)


def compare_torque_with_thread(
    torque_nm: float,
    *,
    diameter_mm: float,
    pitch_mm: float,
    property_class: str | None = None,
    settings: TorqueSanitySettings = DEFAULT_SETTINGS,
) -> TorqueSanity:
    """Whether a torque lies between a tenth of the generic torque of the thread and that torque.

    Args:
        torque_nm: stored torque [N·m], above 0.
        diameter_mm: nominal diameter of the thread [mm].
        pitch_mm: its pitch [mm].
        property_class: as stamped on the head; None assumes 10.9, the generous limit. For an unmarked
            screw give ``UNMARKED_CLASS``.
        settings: limits of the check.

    Returns:
        State; a torque on a limit is plausible. ``not_known`` for a thread or class outside the tables.

    Raises:
        BadInput: the torque is not above zero.

    Source: judgement of this project on the generic torque.

    Example:
        >>> compare_torque_with_thread(40.0, diameter_mm=12.0, pitch_mm=1.25).state.value
        'plausible'
        >>> slip = compare_torque_with_thread(400.0, diameter_mm=12.0, pitch_mm=1.25)
        >>> slip.state.value, slip.hints[0]
        ('too_high', 'If the source prints 400 kgf·cm, it is 39.2 N·m.')
    """
    if not torque_nm > 0:
        raise BadInput(f"Torque '{torque_nm:g}' N·m is not a torque; write a value above zero.")
    assumed = property_class or ASSUMED_CLASS
    label = f"generic, class {assumed} {'stated' if property_class else 'assumed'}; not a manual value"
    highest = _find_generic_nm(diameter_mm, pitch_mm, assumed)
    if highest is None:
        thread = f"M{diameter_mm:g}x{pitch_mm:g}"
        text = f"No generic torque is known for thread '{thread}' in class '{assumed}'; nothing was checked."
        return TorqueSanity(TorqueState.NOT_KNOWN, None, None, label, text, ())
    lowest = settings.lowest_share * highest
    state = _rank(torque_nm, lowest, highest)
    return TorqueSanity(
        state=state,
        lowest_nm=lowest,
        highest_nm=highest,
        label=label,
        text=_format_text(torque_nm, state, lowest=lowest, highest=highest),
        hints=_list_hints(torque_nm, state, lowest=lowest, highest=highest),
    )


def _find_generic_nm(diameter_mm: float, pitch_mm: float, property_class: str) -> float | None:
    load = find_proof_load(diameter_mm, pitch_mm, property_class=property_class)
    generic = find_generic_torque(load.thread, property_class) if load else None
    return generic.dry_nm if generic else None


def _rank(torque_nm: float, lowest: float, highest: float) -> TorqueState:
    if torque_nm > highest:
        return TorqueState.TOO_HIGH
    return TorqueState.TOO_LOW if torque_nm < lowest else TorqueState.PLAUSIBLE


def _format_text(torque_nm: float, state: TorqueState, *, lowest: float, highest: float) -> str:
    if state is TorqueState.TOO_HIGH:
        return (
            f"{torque_nm:g} N·m is above {highest:g} N·m, which a plain steel screw of this thread would "
            "bear; look at the source again, value and unit."
        )
    if state is TorqueState.TOO_LOW:
        return (
            f"{torque_nm:g} N·m is below {lowest:.1f} N·m, too little against what a plain steel screw of "
            "this thread would bear; look at the source again, value and unit."
        )
    return f"{torque_nm:g} N·m is plausible for this thread; that does not make it the right torque."


def _list_hints(torque_nm: float, state: TorqueState, *, lowest: float, highest: float) -> tuple[str, ...]:
    slips = {
        TorqueState.TOO_HIGH: SLIPS_UPWARD,
        TorqueState.TOO_LOW: SLIPS_DOWNWARD,
    }.get(state, ())
    return tuple(
        f"If the source prints {torque_nm:g} {slip.unit}, it is {torque_nm * slip.factor:.1f} N·m."
        for slip in slips
        if lowest <= torque_nm * slip.factor <= highest
    )
