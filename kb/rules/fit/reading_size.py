"""From a reading of a written size to the numbers of the fit question, and the positions it can mean."""

from kb.notation.bearing import BearingReading
from kb.notation.belt import BeltReading
from kb.notation.belt_inch import BeltInchReading
from kb.notation.belt_wide import BeltWideReading
from kb.notation.o_ring import ORingReading
from kb.notation.reading import Reading
from kb.notation.roller import RollerReading
from kb.notation.seal import SealReading
from kb.notation.spring import SpringReading
from kb.notation.thread import ThreadReading, format_thread
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
    if isinstance(reading, SpringReading):
        return (Position.CONTRA_SPRING,) if reading.rated_rpm is None else (Position.CLUTCH_SPRINGS,)
    return _POSITIONS_OF_KIND.get(reading.kind, ())


def build_size(reading: Reading, text: str) -> Asked:
    """The numbers of a reading as the size asked about, with cautions for what was assumed in reading."""
    return Asked(size=_build_numbers(reading), text=text, cautions=tuple(_list_cautions(reading)))


def _build_numbers(reading: Reading) -> PartSize:  # noqa: PLR0911 - one line per kind of notation
    match reading:
        case BeltReading():
            return PartSize(
                length_mm=reading.length_mm,
                length_kind=reading.length_kind,
                top_width_mm=reading.width_mm,
                angle_deg=reading.angle_deg,
                thickness_mm=reading.height_mm,
            )
        case BeltInchReading():
            return PartSize(
                length_mm=reading.length_mm,
                length_kind=reading.length_kind,
                top_width_mm=reading.top_width_mm,
                angle_deg=reading.angle_deg,
            )
        case BeltWideReading():
            return PartSize(length_mm=reading.length_mm, length_kind=reading.length_kind)
        case RollerReading():
            mass_g = reading.mass_g
            if mass_g is None and reading.mass_g_total is not None and reading.count:
                mass_g = reading.mass_g_total / reading.count
            return PartSize(
                diameter_mm=reading.od_mm, width_mm=reading.width_mm, mass_g=mass_g, count=reading.count
            )
        case ThreadReading():
            return PartSize(thread=format_thread(reading))
        case BearingReading():
            return PartSize(
                bore_mm=reading.bore_mm,
                outside_mm=reading.od_mm,
                width_mm=reading.width_mm,
                clearance=reading.clearance or "CN",
                form=reading.seal,
            )
        case SealReading():
            return PartSize(
                bore_mm=reading.shaft_mm,
                outside_mm=reading.bore_mm,
                width_mm=reading.width_mm,
                form=reading.type,
            )
        case ORingReading():
            return PartSize(bore_mm=reading.id_mm, width_mm=reading.section_mm)
        case SpringReading():
            return PartSize(
                count=reading.count,
                rated_rpm=reading.rated_rpm,
                free_length_mm=reading.free_length_mm,
                wire_mm=reading.wire_mm,
                coil_mm=reading.coil_mm,
                active_coils=reading.active_coils,
            )
    return PartSize()


def _list_cautions(reading: Reading) -> list[str]:
    cautions = []
    if "reordered" in reading.flags:
        cautions.append("The numbers were not in the usual order; each was placed by its magnitude.")
    if "ocr_fixed" in reading.flags:
        cautions.append("A letter among the digits was read as the digit it looks like; check it.")
    if "ambiguous_mass_count" in reading.flags:
        cautions.append("The 6 was read as the mass in g; it may be the number of rollers instead.")
    if "unit_assumed" in reading.flags:
        cautions.append("A number without a unit was read as grams.")
    if isinstance(reading, RollerReading) and reading.mixed:
        cautions.append("A mixed set: judged by its mean mass; check the balance of the arrangement as well.")
    if isinstance(reading, BeltWideReading):
        cautions.append("The code gives the reference width, not the top width; measure the top width.")
    if isinstance(reading, BearingReading) and reading.clearance is None:
        cautions.append(
            "No clearance class in the code: read as normal clearance (common practice, no source)."
        )
    return cautions
