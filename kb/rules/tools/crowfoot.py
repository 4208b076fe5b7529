"""Setting of a torque wrench with a crowfoot or another offset adapter.

The adapter moves the nut away from the drive square and so lengthens the lever. Across the handle (90°)
nothing changes; a straight extension on the axis of the nut needs no correction either.

Source: computed, plain statics.
"""

import math

from kb.errors import BadInput


def convert_to_crowfoot_setting(
    target_nm: float, *, lever_mm: float, offset_mm: float, angle_deg: float = 0.0
) -> float:
    """Torque to set so that the nut gets the target [N·m].

    Args:
        target_nm: torque that the nut is to get [N·m], above 0.
        lever_mm: drive square to the middle of the grip [mm], above 0.
        offset_mm: drive square to the middle of the nut [mm], 0 or more and shorter than the lever.
        angle_deg: between adapter and handle [°], -180 to 180; 0 points away from the grip, 180 back
            towards it.

    Raises:
        BadInput: a length, angle or torque outside its range.

    Source: computed: setting = target x L / (L + E cos(angle)).

    Example:
        >>> round(convert_to_crowfoot_setting(55.0, lever_mm=400.0, offset_mm=50.0), 1)
        48.9
        >>> convert_to_crowfoot_setting(55.0, lever_mm=400.0, offset_mm=50.0, angle_deg=90.0)
        55.0
    """
    if not target_nm > 0:
        raise BadInput(f"Torque '{target_nm:g}' N·m is not a torque; write a value above zero.")
    if not 0 <= offset_mm < lever_mm:
        raise BadInput(
            f"Offset '{offset_mm:g}' mm does not go with a lever of '{lever_mm:g}' mm; "
            "write an offset of 0 or more that is shorter than the lever."
        )
    if not -180 <= angle_deg <= 180:
        raise BadInput(f"Angle '{angle_deg:g}' degrees is out of range; write -180 to 180.")
    return target_nm * lever_mm / (lever_mm + offset_mm * math.cos(math.radians(angle_deg)))
