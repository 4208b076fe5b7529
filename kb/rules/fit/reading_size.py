"""From a reading of a written size to the numbers of the fit question, and the positions it can mean.

A reading that can be taken in two ways gives two sizes: width and angle of a belt, a 6 behind a roller size
that may be its mass or the number of rollers. None of them is chosen here.

The classes of readings are named, not imported: each notation is loaded only when something is read in it.
"""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

from kb.notation.reading import Flag, Reading
from kb.rules.fit.envelope import O_RING_POSITIONS
from kb.rules.fit.values import Asked, PartSize
from kb.terms import FASTENER_POSITIONS, Position

_BEARING_POSITIONS = (Position.COVER_BEARING, Position.DRIVEN_NEEDLE_BEARING)

# Kinds of notation to try at a position, in this order.
KINDS_OF_POSITION: dict[Position, tuple[str, ...]] = {
    Position.DRIVE_BELT: ("belt", "belt_inch", "belt_wide"),
    Position.ROLLERS: ("roller",),
    Position.CLUTCH_SPRINGS: ("spring",),
    Position.CONTRA_SPRING: ("spring",),
    Position.TORQUE_DRIVER_SEAL: ("seal",),
    **dict.fromkeys(_BEARING_POSITIONS, ("bearing", "seal")),
    **dict.fromkeys(O_RING_POSITIONS, ("oring",)),
    **dict.fromkeys(FASTENER_POSITIONS, ("thread",)),
}
_POSITIONS_OF_KIND: dict[str, tuple[Position, ...]] = {
    "belt": (Position.DRIVE_BELT,),
    "belt_inch": (Position.DRIVE_BELT,),
    "belt_wide": (Position.DRIVE_BELT,),
    "roller": (Position.ROLLERS,),
    "thread": FASTENER_POSITIONS,
    "bearing": _BEARING_POSITIONS,
    "seal": (Position.TORQUE_DRIVER_SEAL,),
    "oring": O_RING_POSITIONS,
}


def list_positions_of_kind(reading: Reading) -> tuple[Position, ...]:
    """Positions that a reading can mean; none for what is no part, such as a tyre."""
    if reading.kind == "spring":
        has_speed = getattr(reading, "rated_rpm", None) is not None
        return (Position.CLUTCH_SPRINGS,) if has_speed else (Position.CONTRA_SPRING,)
    return _POSITIONS_OF_KIND.get(reading.kind, ())


def build_sizes(reading: Reading, text: str) -> tuple[Asked, ...]:
    """The sizes that a reading can mean, with cautions for what was assumed in reading."""
    build = _NUMBERS_OF_KIND.get(reading.kind)
    sizes = build(reading) if build else (PartSize(),)
    cautions = tuple(_list_cautions(reading))
    return tuple(Asked(size=size, text=text, cautions=cautions) for size in sizes)


def _build_belts(reading: Any) -> tuple[PartSize, ...]:
    readings: tuple[Any, ...] = (reading,)
    if Flag.AMBIGUOUS_WIDTH_ANGLE in reading.flags:
        from kb.notation.belt import list_belt_readings  # noqa: PLC0415 - only for belts

        readings = list_belt_readings(reading.raw)
    return tuple(
        PartSize(
            length_mm=item.length_mm,
            length_kind=item.length_kind,
            top_width_mm=item.width_mm,
            angle_deg=item.angle_deg,
            thickness_mm=item.height_mm,
        )
        for item in readings
    )


def _build_inch_belt(reading: Any) -> tuple[PartSize, ...]:
    return (
        PartSize(
            length_mm=reading.length_mm,
            length_kind=reading.length_kind,
            top_width_mm=reading.top_width_mm,
            angle_deg=reading.angle_deg,
        ),
    )


def _build_wide_belt(reading: Any) -> tuple[PartSize, ...]:
    return (PartSize(length_mm=reading.length_mm, length_kind=reading.length_kind),)


def _build_rollers(reading: Any) -> tuple[PartSize, ...]:
    mass_g = reading.mass_g
    if mass_g is None and reading.mass_g_total is not None and reading.count:
        mass_g = reading.mass_g_total / reading.count
    size = PartSize(diameter_mm=reading.od_mm, width_mm=reading.width_mm, mass_g=mass_g, count=reading.count)
    if Flag.AMBIGUOUS_MASS_COUNT in reading.flags and mass_g is not None:
        return (size, replace(size, mass_g=None, count=round(mass_g)))
    return (size,)


def _build_thread(reading: Any) -> tuple[PartSize, ...]:
    from kb.notation.thread import format_thread  # noqa: PLC0415 - only for threads

    return (PartSize(thread=format_thread(reading)),)


def _build_bearing(reading: Any) -> tuple[PartSize, ...]:
    return (
        PartSize(
            bore_mm=reading.bore_mm,
            outside_mm=reading.od_mm,
            width_mm=reading.width_mm,
            clearance=reading.clearance or "CN",
            form=reading.seal,
        ),
    )


def _build_seal(reading: Any) -> tuple[PartSize, ...]:
    return (
        PartSize(
            bore_mm=reading.shaft_mm,
            outside_mm=reading.bore_mm,
            width_mm=reading.width_mm,
            form=reading.type,
        ),
    )


def _build_o_ring(reading: Any) -> tuple[PartSize, ...]:
    return (PartSize(bore_mm=reading.id_mm, width_mm=reading.section_mm),)


def _build_spring(reading: Any) -> tuple[PartSize, ...]:
    return (
        PartSize(
            count=reading.count,
            rated_rpm=reading.rated_rpm,
            free_length_mm=reading.free_length_mm,
            wire_mm=reading.wire_mm,
            coil_mm=reading.coil_mm,
            active_coils=reading.active_coils,
        ),
    )


_NUMBERS_OF_KIND: dict[str, Callable[[Any], tuple[PartSize, ...]]] = {
    "belt": _build_belts,
    "belt_inch": _build_inch_belt,
    "belt_wide": _build_wide_belt,
    "roller": _build_rollers,
    "thread": _build_thread,
    "bearing": _build_bearing,
    "seal": _build_seal,
    "oring": _build_o_ring,
    "spring": _build_spring,
}
_CAUTION_OF_FLAG = {
    Flag.REORDERED: "The numbers were not in the usual order; each was placed by its magnitude.",
    Flag.OCR_FIXED: "A letter among the digits was read as the digit it looks like; check it.",
    Flag.UNIT_ASSUMED: "A number without a unit was read as grams.",
    Flag.PREFIX_MISSING: "The thread was written without M and was read as metric.",
    Flag.PITCH_NOT_LISTED: "The pitch is not in the table of metric threads; check it.",
    Flag.DIMENSIONS_NOT_IN_TABLE: "The outside sizes of this bearing are not in the table; measure them.",
    Flag.SECTION_NOT_LISTED: "The section of this belt code is not in the table; check it.",
}


def _list_cautions(reading: Any) -> list[str]:
    cautions = [text for flag, text in _CAUTION_OF_FLAG.items() if flag in reading.flags]
    if reading.kind == "roller" and reading.mixed:
        cautions.append("A mixed set: judged by its mean mass; check the balance of the arrangement as well.")
    if reading.kind == "belt_wide":
        cautions.append("The code gives the reference width, not the top width; measure the top width.")
    if reading.kind == "thread" and reading.length_mm is not None:
        cautions.append("The length of the screw is not judged; compare it with the one taken out.")
    if reading.kind == "bearing" and reading.clearance is None:
        cautions.append(
            "No clearance class in the code: read as normal clearance (common practice, no source)."
        )
    return cautions
