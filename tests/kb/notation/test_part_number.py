import pytest

from kb.notation.part_number import is_same_part_number, part_number_key


@pytest.mark.parametrize(
    ("text", "key"),
    [
        ("zi18-12928", "ZI1812928"),
        (" ZI18 / 12.928 ", "ZI1812928"),
        ("ＺＩ１８", "ZI18"),
        ("straße", "STRASSE"),
        ("É-1", "É1"),
        ("E\u0301-1", "É1"),
        ("-/ .", ""),
    ],
)
def test_only_letters_and_digits_count(text, key):
    assert part_number_key(text) == key
    assert part_number_key(key) == key


@pytest.mark.parametrize(
    ("first", "second", "expected"),
    [("ZI18 12928", "zi18/12928", True), ("O1", "01", False), ("", "", False), ("-", "-", False)],
)
def test_part_numbers_are_compared_by_their_key(first, second, expected):
    assert is_same_part_number(first, second) is expected
