"""What a part is recorded to be outranks what its description seems to name. Rows: the demo catalogue."""

import pytest

from kb.database import open_reader
from kb.lookups.search.find import find_matches
from kb.terms import Certainty


@pytest.mark.parametrize(
    ("asked", "part_type"),
    [("roller", "roller_set"), ("gasket", "gasket"), ("clutch spring", "clutch_spring")],
)
def test_parts_of_the_type_asked_for_come_first(demo_engine, asked, part_type):
    with open_reader(demo_engine) as session:
        found = find_matches(session, asked, 50).results
    parts = [item for item in found if item.row.kind == "part"]
    assert len(parts) > 10
    assert {item.row.part_type for item in parts[:10]} == {part_type}
    others = [item for item in parts if item.row.part_type != part_type]
    assert {item.certainty for item in others} <= {Certainty.UNSURE}


@pytest.mark.parametrize(
    ("asked", "number"),
    [
        ("lint free cloth", "GW-802"),
        ("cloth roll", "GW-802"),
        ("gasket scraper", "GW-097"),
        ("brake cleaner spray", "GW-861"),
    ],
)
def test_consumable_is_found_by_its_own_words(demo_engine, asked, number):
    with open_reader(demo_engine) as session:
        assert find_matches(session, asked).results[0].row.part_number == number
