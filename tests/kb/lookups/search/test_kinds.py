"""What a question is read as, when nothing in the shop answers it."""

import pytest

from kb.database import open_reader
from kb.lookups.search.find import find_matches


@pytest.fixture
def shop(sqlite_engine, load_files):
    report = load_files(
        sqlite_engine, parts="maker,part_number,part_type,description\nBeck,B-2,nut,Nut M10\n"
    )
    assert not report.has_problems
    return sqlite_engine


def ask(shop, text):
    with open_reader(shop) as session:
        return find_matches(session, text, 5)


def test_an_article_number_that_no_part_carries_is_read_as_one(shop):
    answer = ask(shop, "4006381333931")  # check digit by GS1 General Specifications 7.9: 1
    assert answer.as_json()["read_as"]["kind"] == "gtin"
    assert answer.message == "Nothing sure. No part carries this article number."


def test_a_mistyped_article_number_is_told(shop):
    message = ask(shop, "4006381333932").message
    assert message.startswith("Nothing sure. ")
    assert "ends in 2 where the check digit is 1" in message


@pytest.mark.parametrize(
    ("asked", "kind", "text"),
    [
        ("6202-2RS", "text", "bearing, 6202, code 2RS"),  # ISO 15 boundary series 02, bore code 02
        ("AB12", "text", "code AB12"),
        ("1E38QMB", "engine", "engine, code 1E38QMB"),
    ],
)
def test_a_code_is_an_engine_only_when_it_is_written_like_one(shop, asked, kind, text):
    read_as = ask(shop, asked).read_as
    assert (read_as.kind, read_as.text) == (kind, text)


def test_a_part_number_of_two_characters_is_found(shop):
    assert [found.row.part_number for found in ask(shop, "B-2").results] == ["B-2"]
