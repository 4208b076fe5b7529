"""Names, units and tolerances of quantities.

Expected tolerances: 0.5 mm for diameters and widths, 2 mm for lengths over 100 mm, exact for words and
counts, unless the row says otherwise (settings of the project). The inch is 25.4 mm by definition.
"""

import pytest

from kb.errors import BadInput
from kb.rules.quantity import find_tolerance_rule, find_unit, parse_quantity


@pytest.mark.parametrize(
    ("text", "position", "name"),
    [
        ("top_width", None, "top_width"),
        ("top_width_mm", None, "top_width"),
        ("Top Width (mm)", None, "top_width"),
        ("top-width", "drive_belt", "top_width"),
        ("width", "drive_belt", "top_width"),
        ("width", "rollers", "width"),
        ("width", None, "width"),
        ("weight", "rollers", "mass"),
        ("mass_g", "rollers", "mass"),
        ("angle_deg", "drive_belt", "angle"),
        ("length", "contra_spring", "free_length"),
        ("length", "drive_belt", "length"),
        ("lining", "clutch_shoes", "lining_thickness"),
        ("inside diameter", "clutch_bell", "bore"),
        ("diameter", "guide_pins", "outside"),
        ("diameter", "rollers", "diameter"),
        ("mm", None, "mm"),
    ],
)
def test_names_of_a_quantity_have_one_spelling(text: str, position: str | None, name: str) -> None:
    """Common practice, no source."""
    assert parse_quantity(text, position=position) == name


@pytest.mark.parametrize("text", ["", "  ", "__", "()"])
def test_name_without_letters_is_refused(text: str) -> None:
    with pytest.raises(BadInput, match="has no letters"):
        parse_quantity(text)


@pytest.mark.parametrize(
    ("name", "unit", "expected"),
    [
        ("case_length", None, "mm"),
        ("case_length", " MM ", "mm"),
        ("case_length", "  ", "mm"),
        ("wheel_diameter", "in", "in"),
        ("mass_g", None, "g"),
        ("stud_count", None, None),
        ("g", None, None),
    ],
)
def test_unit_comes_from_the_row_then_from_the_name(
    name: str, unit: str | None, expected: str | None
) -> None:
    assert find_unit(name, unit=unit) == expected


@pytest.mark.parametrize(
    ("quantity", "unit", "how", "value", "tolerance"),
    [
        ("case_length", None, None, 99.9, 0.5),
        ("case_length", None, None, 100.0, 0.5),
        ("case_length", None, None, 100.1, 2.0),
        ("bell_diameter", "mm", None, 107.0, 0.5),
        ("case_width", "mm", None, 180.0, 0.5),
        ("rim_diameter", "in", None, 12.0, 0.5 / 25.4),
        ("case_length", "in", None, 16.0, 2.0 / 25.4),
        ("belt_angle", "deg", None, 30.0, 0.5),
        ("stud_count", None, None, 3.0, 0.0),
        ("case_length", "mm", "straight edge, ±1 mm", 400.0, 1.0),
        ("case_length", "mm", "straight edge ± 1,5", 400.0, 1.5),
        ("case_length", "mm", "+/- 3 mm", 400.0, 3.0),
        ("case_length", "mm", "+- 3", 400.0, 3.0),
        ("case_length", "mm", "± 1 %", 400.0, 4.0),
        ("case_length", "mm", "± 1 in", 400.0, 25.4),
        ("rim_diameter", "in", "± 1 mm", 12.0, 1 / 25.4),
        ("rim_diameter", "in", "code on the tyre; inches, compared exactly", 12.0, 0.0),
        ("case_length", "mm", "exact", 400.0, 0.0),
        ("stud_count", None, "± 1 on rusty ones", 3.0, 1.0),
        ("case_length", "mm", "straight edge", 400.0, 2.0),
        ("case_length", "mm", "Tape along the case, within 3 mm", 400.0, 3.0),
        ("case_length", "mm", "tape; tolerance: 0,2 mm.", 400.0, 0.2),
        ("case_length", "mm", "plus or minus 4", 400.0, 4.0),
        ("case_length", "mm", "tape, within 5.5 mm of the flange", 400.0, 2.0),
    ],
)
def test_tolerance_around_a_recorded_value(
    quantity: str, unit: str | None, how: str | None, value: float, tolerance: float
) -> None:
    rule = find_tolerance_rule(quantity, unit=unit, how=how)
    assert rule.tolerance_at(value) == pytest.approx(tolerance, abs=1e-12)
