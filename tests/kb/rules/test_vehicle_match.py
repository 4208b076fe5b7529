"""Partial vehicle names and years. Judgement of this project; invented makes."""

import pytest

from kb.rules.vehicle_match import VehicleQuestion, VehicleRow, find_vehicle

ROW = VehicleRow("Oskarrel", "Heron 125 Duo", 2011, 2014)


@pytest.mark.parametrize(
    ("question", "found"),
    [
        (VehicleQuestion(text="heron"), True),
        (VehicleQuestion(text="125 oskar"), True),
        (VehicleQuestion(text="heron 150"), False),
        (VehicleQuestion(make="heron"), False),
        (VehicleQuestion(make="osk", model="duo"), True),
        (VehicleQuestion(year=2011), True),
        (VehicleQuestion(year=2014), True),
        (VehicleQuestion(year=2015), False),
        (VehicleQuestion(text="HÉRON"), True),
    ],
)
def test_all_words_and_the_year_must_be_met(question, found):
    assert (find_vehicle([ROW], question) is ROW) is found


def test_open_years_count_as_still_made():
    assert find_vehicle([VehicleRow("A", "B", 2011, None)], VehicleQuestion(year=2030)) is not None
    assert find_vehicle([VehicleRow("A", "B")], VehicleQuestion(year=1950)) is not None
