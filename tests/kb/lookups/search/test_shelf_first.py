"""Of parts that a question describes equally well, those on the shelf come first; on both databases."""

from kb.database import open_reader
from kb.lookups.search.find import find_matches

FILES = {
    "parts": "maker,part_number,part_type,description\n"
    "Beck,A-1,drive_belt,belt 743x20x30\nBeck,A-2,drive_belt,belt 743x20x30\n"
    "Beck,A-3,drive_belt,belt 743x20x30\nBeck,A-4,drive_belt,belt 743x20x30 old 12\n",
    "stock": "location,maker,part_number,on_hand,counted_on\n"
    "counter,Beck,A-2,0,2026-01-05\ncounter,Beck,A-3,2,2026-01-05\ncounter,Beck,A-4,9,2026-01-05\n",
}


def test_what_is_on_the_shelf_comes_first_among_equals_only(database, load_files):
    report = load_files(database, **FILES)
    assert not report.has_problems, report.as_json()
    with open_reader(database) as session:
        found = find_matches(session, "belt 743 20 30", 10).results
    assert [(one.row.part_number, one.row.on_hand) for one in found] == [
        ("A-3", 2),
        ("A-1", 0),
        ("A-2", 0),
        ("A-4", 9),
    ]
