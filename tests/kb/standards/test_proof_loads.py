"""Sources: ISO 898-1 load tables (published), ISO 898-1 stresses (from memory)."""

import pytest

from kb.standards.proof_loads import find_proof_load, list_proof_loads


@pytest.mark.parametrize(
    ("diameter", "pitch", "area"),
    [  # stress areas printed in ISO 898-1 (published for coarse, fine pitches from memory)
        (5.0, 0.8, 14.2), (6.0, 1.0, 20.1), (8.0, 1.25, 36.6), (10.0, 1.5, 58.0), (12.0, 1.75, 84.3),
        (14.0, 2.0, 115.0), (16.0, 2.0, 157.0), (20.0, 2.5, 245.0), (24.0, 3.0, 353.0),
        (8.0, 1.0, 39.2), (10.0, 1.25, 61.2), (12.0, 1.25, 92.1), (12.0, 1.5, 88.1), (14.0, 1.5, 125.0),
    ],
)  # fmt: skip
def test_stress_area_is_the_printed_one(diameter, pitch, area):
    assert find_proof_load(diameter, pitch, property_class="8.8").stress_area_mm2 == area


@pytest.mark.parametrize(
    ("diameter", "pitch", "property_class", "published"),
    [  # proof loads [N] of a published ISO 898-1 load table
        (3.0, 0.5, "12.9", 4880), (4.0, 0.7, "8.8", 5100), (5.0, 0.8, "8.8", 8230), (5.0, 0.8, "10.9", 11800),
        (6.0, 1.0, "4.8", 6230), (6.0, 1.0, "6.8", 8840), (6.0, 1.0, "8.8", 11600), (6.0, 1.0, "10.9", 16700),
        (6.0, 1.0, "12.9", 19500), (8.0, 1.25, "8.8", 21200), (8.0, 1.25, "10.9", 30400),
        (8.0, 1.25, "12.9", 35500), (10.0, 1.5, "8.8", 33700), (10.0, 1.5, "10.9", 48100),
        (10.0, 1.5, "12.9", 56300), (12.0, 1.75, "8.8", 48900), (12.0, 1.75, "10.9", 70000),
        (14.0, 2.0, "8.8", 66700), (16.0, 2.0, "8.8", 91000),
    ],
)  # fmt: skip
def test_proof_load_is_within_half_a_percent_of_the_published_one(diameter, pitch, property_class, published):
    row = find_proof_load(diameter, pitch, property_class=property_class)
    assert row.proof_load_n == pytest.approx(published, rel=0.005)
    assert row.published_proof_load_n == published


def test_stress_area_follows_the_formula_of_iso_898_1():
    # As = pi/4 x (d - 0.9382 p)^2, printed to three figures
    for row in list_proof_loads():
        formula = 3.14159265 / 4 * (row.diameter_mm - 0.938194 * row.pitch_mm) ** 2
        assert row.stress_area_mm2 == pytest.approx(formula, rel=0.006)


def test_loads_are_area_times_stress():
    for row in list_proof_loads():
        assert row.proof_load_n == pytest.approx(row.stress_area_mm2 * row.proof_stress_mpa, abs=0.51)
        assert row.tensile_load_n == pytest.approx(row.stress_area_mm2 * row.tensile_strength_mpa, abs=0.51)


def test_class_8_8_is_stronger_above_m16():
    # ISO 898-1 (from memory): proof stress 580 MPa up to 16 mm, 600 MPa above
    assert find_proof_load(16.0, 2.0, property_class="8.8").proof_stress_mpa == 580
    assert find_proof_load(18.0, 2.5, property_class="8.8").proof_stress_mpa == 600


@pytest.mark.parametrize(
    ("diameter", "pitch", "property_class"),
    [(8.0, 1.2, "8.8"), (8.1, 1.25, "8.8"), (8.0, 1.25, "7.7"), (18.0, 2.5, "9.8")],
)
def test_what_the_table_lacks_is_not_guessed(diameter, pitch, property_class):
    assert find_proof_load(diameter, pitch, property_class=property_class) is None
