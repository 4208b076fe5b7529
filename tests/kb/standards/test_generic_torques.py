"""Source: T = K x d x F with F = 0.75 x proof load (the formula and K bands are in published articles)."""

import pytest

from kb.standards.generic_torques import find_generic_torque, list_generic_torques
from kb.standards.proof_loads import list_proof_loads


def test_torque_follows_the_formula_for_each_thread_and_class():
    loads = {(row.thread, row.property_class): row for row in list_proof_loads()}
    assert len(list_generic_torques()) == 250
    for row in list_generic_torques():
        load = loads[row.thread, row.property_class]
        preload = 0.75 * load.proof_load_n
        assert row.preload_n == pytest.approx(preload, abs=1.0)
        for k, torque in ((0.20, row.dry_nm), (0.15, row.oiled_nm), (0.12, row.greased_nm)):
            assert torque == pytest.approx(k * load.diameter_mm / 1000 * preload, abs=0.06)


@pytest.mark.parametrize(
    ("thread", "property_class", "dry"),
    [  # worked by hand: M8 8.8: 0.20 x 8 mm x 0.75 x 36.6 mm2 x 580 MPa = 25.5 N.m
        ("M8", "8.8", 25.5),
        ("M6", "8.8", 10.5),
        ("M10x1.25", "10.9", 76.2),
        ("M12x1.25", "8.8", 96.2),
    ],
)
def test_known_torques(thread, property_class, dry):
    assert find_generic_torque(thread, property_class).dry_nm == dry


def test_each_row_says_that_it_is_no_manual_value():
    assert all("not a value of any manual" in row.source for row in list_generic_torques())


@pytest.mark.parametrize(("thread", "property_class"), [("M8", "7.7"), ("M9", "8.8")])
def test_what_the_table_lacks_is_not_guessed(thread, property_class):
    assert find_generic_torque(thread, property_class) is None
