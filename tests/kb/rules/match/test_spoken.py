"""Numbers said in words. English number words: common practice, no source."""

import pytest

from kb.rules.match.spoken import read_spoken


def readings_of(text):
    return [" ".join(reading) for reading, _ in read_spoken(text.split())]


@pytest.mark.parametrize(
    ("said", "read"),
    [
        ("seven hundred and eighty eight", "788"),
        ("nine hundred forty one", "941"),
        ("one thousand eight hundred", "1800"),
        ("one thousand two hundred and five", "1205"),
        ("seventeen point five", "17.5"),
        ("twenty and a half", "20.5"),
        ("point taken", "point taken"),
        ("thirty", "30"),
        ("two hundred five hundred six", "200 506"),
        ("eighteen hundred", "1800"),
        ("three hundred thousand", "300000"),
        ("one thousand two thousand", "1000 2000"),
        ("one way clutch", "one way clutch"),
        ("drive belt", "drive belt"),
    ],
)
def test_words_with_one_meaning_have_one_reading(said, read):
    assert readings_of(said) == [read]


@pytest.mark.parametrize(
    ("said", "likely", "other"),
    [
        ("seven eighty eight", "788", "7 88"),
        ("one fifteen", "115", "1 15"),
        ("eighteen thirty five", "18 35", "1835"),
        ("seven eight eight", "788", "7 8 8"),
        ("six twenty six by thirty two", "626 by 32", "6 26 by 32"),
    ],
)
def test_words_with_two_meanings_keep_both(said, likely, other):
    readings = readings_of(said)
    assert readings[0] == likely
    assert other in readings


def test_fractions_end_where_the_next_number_begins():
    assert readings_of("fifty eight point four twelve") == ["58.4 12"]
    assert readings_of("sixty one and a half thirteen") == ["61.5 13"]


def test_the_second_reading_counts_less():
    assert [factor for _, factor in read_spoken(["one", "fifteen"])] == [1.0, 0.97]


def test_readings_never_explode():
    assert len(read_spoken(["seven", "eighty", "by"] * 60)) <= 4
