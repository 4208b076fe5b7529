"""Fields of a size, put together to the one text that the counter page asks about."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from kb.terms import Position

_AMBIGUOUS_WIDTH_MM = (22.0, 40.0)  # such a number can be a width as well as an angle


@dataclass(frozen=True, slots=True)
class SizeField:
    """One number or word of a size. ``hint`` is an example."""

    name: str
    label: str
    unit: str = ""
    hint: str = ""
    choices: tuple[tuple[str, str], ...] = ()


Values = Mapping[str, str]


@dataclass(frozen=True, slots=True)
class SizeForm:
    """The fields of one kind of part, and the position that they are asked for; None: any that may be."""

    kind: str
    title: str
    fields: tuple[SizeField, ...]
    build: Callable[[Values], str]
    position: Position | None = None

    @property
    def phrase(self) -> str:
        """The kind of part inside a sentence."""
        return self.title if self.title.startswith("O-") else self.title.lower()

    def name_field(self, field: SizeField) -> str:
        """Name of the field in the page's form."""
        return f"{self.kind}_{field.name}"


def _build_belt(values: Values) -> str:
    length, width, height, angle = (values[name] for name in ("length", "width", "height", "angle"))
    mark = values["length_kind"]
    if angle and not _may_be_angle(width):
        return "-".join(part for part in (length + mark, width, height, angle) if part)
    # Letters before the numbers, where the order alone would leave it open which is which.
    named = [f"{mark or 'L'}={length}" if length else "", f"W={width}" if width else "", height]
    return " ".join(part for part in (*named, f"A={angle}" if angle else "") if part)


def _may_be_angle(width: str) -> bool:
    try:
        return _AMBIGUOUS_WIDTH_MM[0] <= float(width) <= _AMBIGUOUS_WIDTH_MM[1]
    except ValueError:
        return True


def _build_rollers(values: Values) -> str:
    mass = f" {values['mass']}g" if values["mass"] else ""
    count = f" x{values['count']}" if values["count"] else ""
    return f"{values['diameter']}x{values['width']}{mass}{count}"


def _build_clutch_springs(values: Values) -> str:
    count = f"{values['count']} x " if values["count"] else ""
    return f"{count}{values['rating']} rpm"


def _build_contra_spring(values: Values) -> str:
    signs = (("L0", "free"), ("d", "wire"), ("D", "coil"), ("n", "coils"))
    return " ".join(f"{sign}={values[name]}" for sign, name in signs if values[name])


def _build_thread(values: Values) -> str:
    pitch = f"x{values['pitch']}" if values["pitch"] else ""
    return f"M{values['diameter']}{pitch}{values['hand']}"


def _build_envelope(values: Values) -> str:
    letters = f" {values['form']}" if values.get("form") else ""
    return f"{values['bore']}x{values['outside']}x{values['width']}{letters}"


def _build_o_ring(values: Values) -> str:
    return f"{values['bore']}x{values['section']}"


SIZE_FORMS = (
    SizeForm(
        "belt",
        "Belt",
        (
            SizeField("length", "Length", "mm", "669"),
            SizeField(
                "length_kind",
                "Length is",
                choices=(
                    ("", "not stated"),
                    ("La", "outside (La)"),
                    ("Lp", "pitch (Lp)"),
                    ("Li", "inside (Li)"),
                ),
            ),
            SizeField("width", "Top width", "mm", "18"),
            SizeField("height", "Thickness", "mm", "8"),
            SizeField("angle", "Angle", "°", "30"),
        ),
        _build_belt,
        Position.DRIVE_BELT,
    ),
    SizeForm(
        "rollers",
        "Rollers",
        (
            SizeField("diameter", "Diameter", "mm", "16"),
            SizeField("width", "Width", "mm", "13"),
            SizeField("mass", "Mass of one", "g", "7"),
            SizeField("count", "Pieces", "", "6"),
        ),
        _build_rollers,
        Position.ROLLERS,
    ),
    SizeForm(
        "clutch_springs",
        "Clutch springs",
        (SizeField("count", "Pieces", "", "3"), SizeField("rating", "Rated", "r/min", "1500")),
        _build_clutch_springs,
        Position.CLUTCH_SPRINGS,
    ),
    SizeForm(
        "contra_spring",
        "Contra spring",
        (
            SizeField("free", "Free length", "mm", "108"),
            SizeField("wire", "Wire", "mm", "3.6"),
            SizeField("coil", "Mean coil diameter", "mm", "42"),
            SizeField("coils", "Active coils", "", "5"),
        ),
        _build_contra_spring,
        Position.CONTRA_SPRING,
    ),
    SizeForm(
        "thread",
        "Nut or screw",
        (
            SizeField("diameter", "Thread M", "mm", "10"),
            SizeField("pitch", "Pitch", "mm", "1.25"),
            SizeField("hand", "Hand", choices=(("", "right"), (" LH", "left (LH)"))),
        ),
        _build_thread,
    ),
    SizeForm(
        "bearing",
        "Bearing",
        (
            SizeField("bore", "Bore", "mm", "17"),
            SizeField("outside", "Outside", "mm", "40"),
            SizeField("width", "Width", "mm", "12"),
        ),
        _build_envelope,
        Position.COVER_BEARING,
    ),
    SizeForm(
        "seal",
        "Oil seal",
        (
            SizeField("bore", "Shaft", "mm", "20"),
            SizeField("outside", "Housing", "mm", "35"),
            SizeField("width", "Width", "mm", "7"),
            SizeField("form", "Letters", "", "TC"),
        ),
        _build_envelope,
        Position.TORQUE_DRIVER_SEAL,
    ),
    SizeForm(
        "o_ring",
        "O-ring",
        (SizeField("bore", "Inside diameter", "mm", "27.5"), SizeField("section", "Section", "mm", "1.9")),
        _build_o_ring,
        Position.TORQUE_DRIVER_O_RING,
    ),
)


def build_asked(params: Mapping[str, str]) -> tuple[str, Position | None] | None:
    """Text and position of the size whose fields were filled in; None where none was.

    Args:
        params: what the form sent; ``build`` names the kind whose button was pressed.

    Example:
        >>> build_asked({"belt_length": "669", "belt_width": "18", "belt_angle": "30"})
        ('669-18-30', <Position.DRIVE_BELT: 'drive_belt'>)
        >>> build_asked({"belt_length": ""}) is None
        True
    """
    wanted = params.get("build")
    forms = [form for form in SIZE_FORMS if form.kind == wanted] if wanted else SIZE_FORMS
    for form in forms:
        values = {
            field.name: _clean(params.get(form.name_field(field), ""), is_word=bool(field.choices))
            for field in form.fields
        }
        if any(value for field in form.fields if not field.choices and (value := values[field.name])):
            return form.build(values), form.position
    return None


def _clean(value: str, *, is_word: bool) -> str:
    return value if is_word else value.strip().replace(",", ".")[:20]


def spell_belt_reading(size: Mapping[str, object]) -> str:
    """A belt size spelt so that it can be read in one way only.

    Example:
        >>> spell_belt_reading({"length_mm": 1000.0, "top_width_mm": 24.0, "angle_deg": 28.0})
        'L=1000 W=24 A=28'
    """
    marks = {"outside": "La", "pitch": "Lp", "inside": "Li"}
    mark = marks.get(str(size.get("length_kind")), "L")
    signs = ((f"{mark}=", "length_mm"), ("W=", "top_width_mm"), ("", "thickness_mm"), ("A=", "angle_deg"))
    return " ".join(
        f"{sign}{value:g}" for sign, name in signs if isinstance(value := size.get(name), float | int)
    )
