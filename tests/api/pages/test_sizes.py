"""Fields of a size become a text that the notations read back as the same numbers."""

import pytest

from api.pages.sizes import SIZE_FORMS, build_asked, spell_belt_reading
from kb.notation.belt import list_belt_readings
from kb.notation.read import read_code
from kb.terms import Position


def fill(kind: str, **values: str) -> dict[str, str]:
    """What the form sends for one kind."""
    return {f"{kind}_{name}": value for name, value in values.items()}


@pytest.mark.parametrize(
    ("params", "text", "kind"),
    [
        (fill("belt", length="669", width="18", angle="30"), "669-18-30", "belt"),
        (
            fill("belt", length="669", length_kind="La", width="18,5", height="8"),
            None,
            "belt",
        ),
        (fill("belt", length="1000", width="24", angle="28"), "L=1000 W=24 A=28", "belt"),
        (fill("belt", length="743", angle="28"), "L=743 A=28", "belt"),
        (fill("rollers", diameter="16", width="13", mass="6,5"), "16x13 6.5g", "roller"),
        (
            fill("rollers", diameter="16", width="13", mass="7", count="6"),
            None,
            "roller",
        ),
        (fill("clutch_springs", count="3", rating="1500"), "3 x 1500 rpm", "spring"),
        (
            fill("contra_spring", free="108", wire="3.9", coil="45"),
            None,
            "spring",
        ),
        (fill("thread", diameter="10", pitch="1,25", hand=" LH"), "M10x1.25 LH", "thread"),
        (fill("bearing", bore="17", outside="40", width="12"), "17x40x12", "bearing"),
        (
            fill("seal", bore="20", outside="35", width="7", form="TC"),
            "20x35x7 TC",
            "seal",
        ),
        (fill("o_ring", bore="27.5", section="1.9"), "27.5x1.9", "oring"),
    ],
)
def test_fields_become_a_text_that_can_be_read(params: dict[str, str], text: str | None, kind: str):
    built = build_asked(params)
    assert built is not None
    assert text is None or built[0] == text
    assert read_code(built[0], kind)


def test_thickness_and_kind_of_length_are_kept():
    built = build_asked(
        {
            "belt_length": "669",
            "belt_length_kind": "Li",
            "belt_width": "24",
            "belt_height": "8",
            "belt_angle": "28",
        }
    )
    (reading,) = list_belt_readings(built[0])
    assert (reading.length_mm, reading.width_mm, reading.height_mm, reading.angle_deg) == (669, 24, 8, 28)
    assert reading.length_kind == "inside"


def test_a_pressed_button_decides_between_filled_in_kinds():
    params = {
        "belt_length": "669",
        "belt_width": "18",
        "o_ring_bore": "15",
        "o_ring_section": "2",
        "build": "o_ring",
    }
    assert build_asked(params | {"build": "o_ring"}) == ("15x2", Position.TORQUE_DRIVER_O_RING)


def test_nothing_filled_in_is_no_question():
    assert build_asked({"belt_length_kind": "La", "rollers_mass": "  "}) is None


def test_field_names_are_unique():
    names = [form.name_field(field) for form in SIZE_FORMS for field in form.fields]
    assert len(names) == len(set(names))


@pytest.mark.parametrize("text", ["1000-24-28", "1000-28-24", "743-28", "1000La-24-8-28"])
def test_each_reading_of_an_ambiguous_size_is_spelt_so_that_only_it_is_left(text: str):
    readings = list_belt_readings(text)
    assert len(readings) >= 1
    for reading in readings:
        size = {
            "length_mm": reading.length_mm,
            "length_kind": reading.length_kind,
            "top_width_mm": reading.width_mm,
            "angle_deg": reading.angle_deg,
            "thickness_mm": reading.height_mm,
        }
        (again,) = list_belt_readings(spell_belt_reading(size))
        assert (again.length_mm, again.width_mm, again.angle_deg) == (
            reading.length_mm,
            reading.width_mm,
            reading.angle_deg,
        )
