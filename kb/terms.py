"""The closed word lists that every room and every answer uses. The value is what JSON shows."""

from enum import StrEnum


class Outcome(StrEnum):
    """Answer to a fit question, from the most to the least cautious."""

    DOES_NOT_FIT = "does_not_fit"
    NOT_KNOWN = "not_known"
    FITS_WITH_CHANGE = "fits_with_change"
    FITS = "fits"


class Certainty(StrEnum):
    """How far an answer can be relied on."""

    SURE = "sure"
    PROBABLE = "probable"
    UNSURE = "unsure"


class EvidenceKind(StrEnum):
    """What a piece of evidence rests on."""

    RECORD = "record"
    SIZE = "size"
    GEOMETRY = "geometry"


class SourceKind(StrEnum):
    """Where a value came from. ``not_stated`` is a catalogue row whose source cell is empty."""

    MANUAL = "manual"
    STANDARD = "standard"
    MEASURED = "measured"
    SUPPLIER = "supplier"
    COMMON_PRACTICE = "common_practice"
    ESTIMATE = "estimate"
    NOT_STATED = "not_stated"


class LengthKind(StrEnum):
    """The line along which a belt's length is given."""

    OUTSIDE = "outside"
    PITCH = "pitch"
    INSIDE = "inside"


class Hand(StrEnum):
    """Direction of a thread."""

    RIGHT = "right"
    LEFT = "left"
    UNKNOWN = "unknown"


class FastenerDrive(StrEnum):
    """Shape that the tool grips."""

    HEX = "hex"
    HEX_KEY = "hex_key"
    SLOTTED_RING = "slotted_ring"


class LimitSense(StrEnum):
    """Whether a wear limit is a smallest or a largest permitted value."""

    MIN = "min"
    MAX = "max"


class PartStatus(StrEnum):
    """Whether a part number is still made."""

    CURRENT = "current"
    SUPERSEDED = "superseded"
    DISCONTINUED = "discontinued"


class ReplacementKind(StrEnum):
    """How one part number stands in for another."""

    SUPERSEDES = "supersedes"
    SAME_SIZE = "same_size"
    SUBSTITUTE = "substitute"


class ToolKind(StrEnum):
    """What a tool of the shop is."""

    SOCKET = "socket"
    HEX_KEY = "hex_key"
    TORQUE_WRENCH = "torque_wrench"
    TORQUE_STICK = "torque_stick"
    HOLDER = "holder"
    OTHER = "other"


class PartType(StrEnum):
    """What an article is."""

    DRIVE_BELT = "drive_belt"
    ROLLER_SET = "roller_set"
    SLIDER_SET = "slider_set"
    CLUTCH_SPRING = "clutch_spring"
    CONTRA_SPRING = "contra_spring"
    CLUTCH_SHOES = "clutch_shoes"
    CLUTCH_BELL = "clutch_bell"
    VARIATOR = "variator"
    RAMP_PLATE = "ramp_plate"
    DRIVE_BOSS = "drive_boss"
    DRIVE_FACE = "drive_face"
    TORQUE_DRIVER = "torque_driver"
    GUIDE_PIN = "guide_pin"
    O_RING = "o_ring"
    OIL_SEAL = "oil_seal"
    BEARING = "bearing"
    NUT = "nut"
    WASHER = "washer"
    RESTRICTOR_WASHER = "restrictor_washer"
    GASKET = "gasket"
    DOWEL = "dowel"
    STARTER_GEAR = "starter_gear"
    CONSUMABLE = "consumable"
    OTHER = "other"


class Position(StrEnum):
    """A place in the machine that a part or a fastener sits in, front to rear."""

    DRIVE_BELT = "drive_belt"
    ROLLERS = "rollers"
    SLIDERS = "sliders"
    CLUTCH_SPRINGS = "clutch_springs"
    CONTRA_SPRING = "contra_spring"
    CLUTCH_SHOES = "clutch_shoes"
    CLUTCH_BELL = "clutch_bell"
    VARIATOR = "variator"
    RAMP_PLATE = "ramp_plate"
    DRIVE_BOSS = "drive_boss"
    DRIVE_FACE = "drive_face"
    DRIVEN_FACE = "driven_face"
    TORQUE_DRIVER = "torque_driver"
    GUIDE_PINS = "guide_pins"
    TORQUE_DRIVER_SEAL = "torque_driver_seal"
    TORQUE_DRIVER_O_RING = "torque_driver_o_ring"
    SHAFT_O_RING = "shaft_o_ring"
    COVER_BEARING = "cover_bearing"
    DRIVEN_NEEDLE_BEARING = "driven_needle_bearing"
    CRANK_NUT = "crank_nut"
    BELL_NUT = "bell_nut"
    CLUTCH_NUT = "clutch_nut"
    COVER_SCREWS = "cover_screws"
    AIRBOX_SCREWS = "airbox_screws"
    COVER_GASKET = "cover_gasket"
    COVER_DOWELS = "cover_dowels"
    KICK_GEAR = "kick_gear"
    RESTRICTOR_WASHER = "restrictor_washer"


FASTENER_POSITIONS = (
    Position.CRANK_NUT,
    Position.BELL_NUT,
    Position.CLUTCH_NUT,
    Position.COVER_SCREWS,
    Position.AIRBOX_SCREWS,
)

# Positions judged by bore, outside and width.
SIZE_POSITIONS = (
    Position.TORQUE_DRIVER_SEAL,
    Position.TORQUE_DRIVER_O_RING,
    Position.SHAFT_O_RING,
    Position.COVER_BEARING,
    Position.DRIVEN_NEEDLE_BEARING,
)

POSITIONS_OF_PART_TYPE: dict[PartType, tuple[Position, ...]] = {
    PartType.DRIVE_BELT: (Position.DRIVE_BELT,),
    PartType.ROLLER_SET: (Position.ROLLERS,),
    PartType.SLIDER_SET: (Position.SLIDERS,),
    PartType.CLUTCH_SPRING: (Position.CLUTCH_SPRINGS,),
    PartType.CONTRA_SPRING: (Position.CONTRA_SPRING,),
    PartType.CLUTCH_SHOES: (Position.CLUTCH_SHOES,),
    PartType.CLUTCH_BELL: (Position.CLUTCH_BELL,),
    PartType.VARIATOR: (Position.VARIATOR,),
    PartType.RAMP_PLATE: (Position.RAMP_PLATE,),
    PartType.DRIVE_BOSS: (Position.DRIVE_BOSS,),
    PartType.DRIVE_FACE: (Position.DRIVE_FACE, Position.DRIVEN_FACE),
    PartType.TORQUE_DRIVER: (Position.TORQUE_DRIVER,),
    PartType.GUIDE_PIN: (Position.GUIDE_PINS,),
    PartType.O_RING: (Position.TORQUE_DRIVER_O_RING, Position.SHAFT_O_RING),
    PartType.OIL_SEAL: (Position.TORQUE_DRIVER_SEAL,),
    PartType.BEARING: (Position.COVER_BEARING, Position.DRIVEN_NEEDLE_BEARING),
    PartType.NUT: (Position.CRANK_NUT, Position.BELL_NUT, Position.CLUTCH_NUT),
    PartType.WASHER: (),
    PartType.RESTRICTOR_WASHER: (Position.RESTRICTOR_WASHER,),
    PartType.GASKET: (Position.COVER_GASKET,),
    PartType.DOWEL: (Position.COVER_DOWELS,),
    PartType.STARTER_GEAR: (Position.KICK_GEAR,),
    PartType.CONSUMABLE: (),
    PartType.OTHER: (Position.COVER_SCREWS, Position.AIRBOX_SCREWS),
}


class Refusal(StrEnum):
    """Why a written size or code was not read."""

    EMPTY = "empty"
    NOT_RECOGNISED = "not_recognised"
    TOO_FEW_NUMBERS = "too_few_numbers"
    TOO_MANY_NUMBERS = "too_many_numbers"
    NO_LENGTH = "no_length"
    TWO_LENGTHS = "two_lengths"
    MULTIPLE_VALUES = "multiple_values"
    OUT_OF_RANGE = "out_of_range"
    AMBIGUOUS_SEPARATOR = "ambiguous_separator"
    AMBIGUOUS_KIND = "ambiguous_kind"
    UNKNOWN_SECTION = "unknown_section"
    UNKNOWN_UNIT = "unknown_unit"
    MISSING_UNIT = "missing_unit"
    REVERSED_RANGE = "reversed_range"
    CONTRADICTORY = "contradictory"
    INCH_THREAD = "inch_thread"
    UNKNOWN_CLASS_LETTER = "unknown_class_letter"
    UNKNOWN_COOLING_LETTER = "unknown_cooling_letter"
    NOT_MOTORCYCLE = "not_motorcycle"
    NO_RIM = "no_rim"
    BAD_LENGTH = "bad_length"
    BAD_CHECK_DIGIT = "bad_check_digit"
    ALL_ZERO = "all_zero"


class Role(StrEnum):
    """What a holder of an access key may do, from the least to the most: each includes those before."""

    READ = "read"
    STOCK = "stock"
    ADMIN = "admin"
