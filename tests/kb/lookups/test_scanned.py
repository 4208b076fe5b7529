"""What a scanner read: one part, or none with the reason; nothing is guessed.

Numbers with a check digit are of the kind that companies give out for themselves (GS1 General Specifications,
prefixes 20 to 29, from memory); prefixes in front of a scan are those of ISO/IEC 15424 (from memory).
"""

from datetime import UTC, datetime

import pytest

from importers.load import load_catalogue
from kb.database import open_reader, open_writer
from kb.errors import BadInput
from kb.lookups.scanned import find_scanned

PARTS = """maker,part_number,part_type,gtin
Hazelmark,HM-10/2,drive_belt,2900000012349
Hazelmark,20012342,nut,
Ottersby,OB 7,nut,20012342
Ottersby,Q-1,nut,
Hazelmark,Q1,nut,
"""


@pytest.fixture
def session(database, tmp_path):
    (tmp_path / "parts.csv").write_text(PARTS)
    with open_writer(database) as writer:
        assert not load_catalogue(writer, tmp_path, now=datetime(2026, 3, 2, tzinfo=UTC)).has_problems
    with open_reader(database) as reader:
        yield reader


def name(part):
    return f"{part.ref.maker} {part.ref.part_number}"


@pytest.mark.parametrize(
    "code",
    [
        "2900000012349",
        "02900000012349",
        "]E02900000012349\r",
        "(01)02900000012349(10)B77",
        "]C10102900000012349",
        "HM-10/2",
        "]C0HM-10/2",
        "]Q1hm10 2",
        "Hazelmark HM-10/2",
    ],
)
def test_one_piece_of_the_only_part_that_carries_the_code(session, code):
    found = find_scanned(session, code)
    assert found.part is not None
    assert (name(found.part), found.is_label) == ("Hazelmark HM-10/2", False)


@pytest.mark.parametrize(
    "code", ["/parts/Hazelmark/HM-10/2", "]Q1http://shop.test:8765/parts/Hazelmark/HM-10%2F2"]
)
def test_address_of_a_part_is_its_shelf_label(session, code):
    found = find_scanned(session, code)
    assert found.part is not None
    assert (name(found.part), found.is_label) == ("Hazelmark HM-10/2", True)


@pytest.mark.parametrize(
    ("code", "names"),
    [
        ("20012342", ["Hazelmark 20012342", "Ottersby OB 7"]),  # a part number and an article number
        ("q 1", ["Hazelmark Q1", "Ottersby Q-1"]),
    ],
)
def test_code_of_several_parts_takes_none_and_names_them(session, code, names):
    found = find_scanned(session, code)
    assert found.part is None
    assert sorted(map(name, found.choices)) == names
    assert "choose the one in your hand" in found.why


@pytest.mark.parametrize(
    ("code", "why"),
    [
        ("2900000012348", "check digit is 9"),
        ("2000000000008", "No part carries the article number"),
        ("zzz", "is no article number, part number or shelf label"),
        ("/parts/Hazelmark/none", "not in the catalogue"),
        ("/parts/Nobody/1", "not in the catalogue"),
        ("]C0", "is no article number"),
    ],
)
def test_unknown_code_says_why(session, code, why):
    found = find_scanned(session, code)
    assert found.part is None
    assert why in found.why


@pytest.mark.parametrize("code", ["", " \r\n", "x" * 201])
def test_text_that_is_no_code_is_refused(session, code):
    with pytest.raises(BadInput):
        find_scanned(session, code)
