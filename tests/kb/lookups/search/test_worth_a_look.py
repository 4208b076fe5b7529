"""Parts worth a look where only fit records decide."""

from kb.database import open_reader
from kb.lookups.fit import FitQuestion, does_part_fit
from kb.lookups.search.worth_a_look import list_worth_a_look, list_worth_a_look_beside


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


def test_part_asked_about_is_not_offered_beside_its_own_verdict(demo_engine):
    with open_reader(demo_engine) as session:
        other = does_part_fit(session, FitQuestion("plover-50-s", "N.35.403", "clutch_bell"))
        recorded = does_part_fit(session, FitQuestion("plover-50-s", "N.78.035"))
        found = {
            verdict.asked.part.part_number: [
                item.row.part_number for item in list_worth_a_look_beside(session, verdict)
            ]
            for verdict in (other, recorded)
        }
    assert "N.35.403" not in found["N.35.403"]
    assert "N.35.403" in found["N.78.035"]


def test_a_number_of_pieces_is_no_size_and_a_rear_part_is_not_like_a_front_one(demo_engine):
    with open_reader(demo_engine) as session:
        dowels = list_worth_a_look(session, "plover-70-s", "cover_dowels")
        faces = list_worth_a_look(session, "curlew-200", "drive_face")
    assert ["plover" in item.row.description.lower() for item in dowels] == [True]
    assert [item.row.description for item in faces if "REAR" in (item.row.description or "").upper()] == []
