"""A torque printed for dry threads on an oiled or greased thread.

Less friction means more pull at the same torque, so a dry value is reduced. It is corrected only when its
source states that it is meant dry, and never twice: a value printed "with oil" or "with thread-locking
compound" is used as it is. Nothing is ever raised: bring the thread into the printed condition instead.

Source: T = K d F with mid values of published friction bands: dry 0.20, oiled 0.15, greased 0.12.
"""

from dataclasses import dataclass
from enum import StrEnum

from kb.errors import BadInput


class ThreadCondition(StrEnum):
    """Condition of a thread for which a torque is printed, or in which it is found."""

    DRY = "dry"
    OILED = "oiled"
    GREASED = "greased"
    LOCKING_COMPOUND = "locking_compound"
    UNKNOWN = "unknown"


FRICTION_FACTOR = {
    ThreadCondition.DRY: 0.20,
    ThreadCondition.OILED: 0.15,
    ThreadCondition.GREASED: 0.12,
}


@dataclass(frozen=True, slots=True)
class LubricationAnswer:
    """Torque to use [N·m], whether it was computed from the printed one, and what to tell the person."""

    torque_nm: float
    is_corrected: bool
    warning: str | None


def convert_torque_for_lubrication(
    torque_nm: float, *, printed_for: ThreadCondition, found: ThreadCondition
) -> LubricationAnswer:
    """Torque for the thread as it is: reduced from a stated dry value, else the printed one, with a warning.

    Args:
        torque_nm: printed torque [N·m], above 0.
        printed_for: condition that the source of the torque states.
        found: condition of the thread in hand.

    Raises:
        BadInput: the torque is not above zero.

    Source: T_oiled = T_dry x K_oiled / K_dry; the K values are mid values of published bands.

    Example:
        >>> dry, oiled = ThreadCondition.DRY, ThreadCondition.OILED
        >>> round(convert_torque_for_lubrication(40.0, printed_for=dry, found=oiled).torque_nm, 6)
        30.0
        >>> convert_torque_for_lubrication(40.0, printed_for=oiled, found=oiled).is_corrected
        False
    """
    if not torque_nm > 0:
        raise BadInput(f"Torque '{torque_nm:g}' N·m is not a torque; write a value above zero.")
    is_lubricated = found in {ThreadCondition.OILED, ThreadCondition.GREASED}
    if printed_for is ThreadCondition.DRY and is_lubricated:
        factor = FRICTION_FACTOR[found] / FRICTION_FACTOR[ThreadCondition.DRY]
        return LubricationAnswer(
            torque_nm=torque_nm * factor,
            is_corrected=True,
            warning=(
                f"Computed: {factor:.2f} of the dry value, from generic friction. Friction varies widely; "
                "cleaning the thread and using the printed value is better."
            ),
        )
    return LubricationAnswer(
        torque_nm=torque_nm, is_corrected=False, warning=_find_warning(printed_for, found)
    )


def _find_warning(printed_for: ThreadCondition, found: ThreadCondition) -> str | None:
    if printed_for is ThreadCondition.UNKNOWN:
        return "The source does not say whether the value is for dry or oiled threads: nothing was corrected."
    if found is ThreadCondition.UNKNOWN:
        return (
            f"The value is printed for the condition '{_name(printed_for)}'; "
            "bring the thread into that condition."
        )
    if printed_for is not found:
        return (
            f"The value is printed for '{_name(printed_for)}' and the thread is '{_name(found)}': it is used "
            "as printed, never corrected. Bring the thread into the printed condition."
        )
    return None


def _name(condition: ThreadCondition) -> str:
    return condition.value.replace("_", " ")
