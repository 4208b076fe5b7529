"""The shop's own words."""

import pytest

from kb.database import open_reader, open_writer
from kb.edits.words import add_word, remove_word
from kb.errors import BadInput, Conflict, NotFound
from kb.lookups.search.find import find_matches
from kb.lookups.search.verify import find_index_difference
from kb.lookups.search.words import list_words

PARTS = "maker,part_number,part_type,description\n" + "".join(
    f"Wrenfold,WF-{n},{kind},{words}\n"
    for n, kind, words in (
        (743001, "drive_belt", "belt 743x20"),
        (743002, "other", "whirligig 743x20"),
        (743003, "nut", "nut M10"),
    )
)


@pytest.fixture
def filled(database, load_files):
    assert not load_files(database, parts=PARTS).has_problems
    return database


def test_rows_that_hold_the_word_are_keyed_again_and_found_by_other_words(filled):
    with open_writer(filled) as session:
        assert add_word(session, "drive_belt", " whirligig ") == 1
    with open_reader(filled) as session:
        found = find_matches(session, "transmission belt 743 20").results
        assert {item.row.part_number for item in found} == {"WF-743001", "WF-743002"}
        assert find_index_difference(session) == ""
        assert list_words(session)[0].own == ("whirligig",)
    with open_writer(filled) as session:
        assert remove_word(session, "drive_belt", "whirligig") == 1
    with open_reader(filled) as session:
        assert find_index_difference(session) == ""


def test_built_in_words_are_listed_as_such(filled):
    with open_reader(filled) as session:
        belt = list_words(session)[0]
    assert belt.part_type == "drive_belt"
    assert "transmission belt" in belt.built_in
    assert belt.own == belt.from_catalogue == ()


def test_a_word_stands_once_for_a_part_type(filled):
    with open_writer(filled) as session:
        add_word(session, "nut", "twiddler")
        with pytest.raises(Conflict, match="'twiddler' stands for nut already"):
            add_word(session, "nut", "twiddler")


@pytest.mark.parametrize("word", ["", "  ", "12", "-", "w" * 61])
def test_what_nobody_says_is_refused(filled, word):
    with open_writer(filled) as session, pytest.raises(BadInput):
        add_word(session, "nut", word)


def test_a_word_of_a_catalogue_goes_with_its_import_only(filled, load_files):
    load_files(filled, trade_names="part_type,name\nnut,twiddler\n")
    with open_writer(filled) as session, pytest.raises(NotFound, match="no word of the shop"):
        remove_word(session, "nut", "twiddler")
