"""Parts worth a look where only fit records decide."""

from kb.database import open_reader
from kb.lookups.search.worth_a_look import list_worth_a_look


def test_parts_like_a_recorded_one_are_worth_a_look_and_never_a_fit(demo_engine):
    with open_reader(demo_engine) as session:
        found = list_worth_a_look(session, "plover-50-s", "clutch_bell")
    assert "N.35.403" in [item.row.part_number for item in found]
    assert {item.row.part_type for item in found} == {"clutch_bell"}
    assert {item.as_json()["outcome"] for item in found} == {"not_known"}
    assert all(item.why.startswith("Worth a look, not a fit") for item in found)


def test_recorded_parts_are_not_among_them(demo_engine):
    with open_reader(demo_engine) as session:
        found = list_worth_a_look(session, "plover-50-s", "clutch_bell")
    assert "N.78.035" not in [item.row.part_number for item in found]


def test_nothing_where_sizes_decide(demo_engine):
    with open_reader(demo_engine) as session:
        assert list_worth_a_look(session, "plover-50-s", "drive_belt") == []
