"""The table of trade words. Its words are common practice, no source."""

import pytest

from kb.standards.trade_words import list_trade_words
from kb.terms import PartType


def test_every_name_belongs_to_a_part_type_or_is_descriptive():
    kinds = {kind for kind, _ in list_trade_words()}
    assert kinds <= {part_type.value for part_type in PartType} | {""}


def test_every_part_type_has_a_name():
    assert {kind for kind, _ in list_trade_words() if kind} == {part_type.value for part_type in PartType}


def test_no_row_stands_twice():
    rows = list_trade_words()
    assert len(rows) == len(set(rows))


@pytest.mark.parametrize(
    ("name", "part_type"),
    [
        ("transmission belt", "drive_belt"),
        ("variator weights", "roller_set"),
        ("clutch drum", "clutch_bell"),
        ("torque spring", "contra_spring"),
        ("cam plate", "ramp_plate"),
    ],
)
def test_regional_names_are_known(name, part_type):
    # Other words for a part as the trade uses them: common practice, no source.
    assert (part_type, name) in list_trade_words()
