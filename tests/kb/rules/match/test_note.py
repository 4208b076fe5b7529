"""Codes in a pasted note. Forms of the codes: the notations' own tests; sentences are invented."""

from itertools import pairwise

import pytest

from kb.rules.match.note import split_note


def found_in(text):
    return [(part.text, part.kind) for part in split_note(text)]


def test_a_note_is_taken_apart():
    note = (
        "belt says 743 20 30, case is stamped 139QMB, rollers 16x13 7 g. "
        "Nut M12x1.25 LH, tighten to 40-45 N.m!"
    )
    assert found_in(note) == [
        ("743 20 30", "belt"),
        ("139QMB", "engine"),
        ("16x13 7 g", "roller"),
        ("M12x1.25 LH", "thread"),
        ("40-45 N.m", "torque"),
    ]


def test_the_span_is_the_place_in_the_text():
    note = "our belt: 743-20-30."
    (part,) = split_note(note)
    assert note[part.span[0] : part.span[1]] == part.text == "743-20-30"
    assert part.reading == {"ok": True, "kind": "belt", "length_mm": 743, "width_mm": 20, "angle_deg": 30}


@pytest.mark.parametrize(
    ("text", "kind"),
    [("seal 20x35x7", "seal"), ("20x35x7 seal", "seal"), ("rollers 16x13", "roller")],
)
def test_the_nearest_word_decides_what_bare_sizes_are(text, kind):
    assert [part.kind for part in split_note(text)] == [kind]


def test_bare_sizes_without_a_word_are_not_guessed():
    (part,) = split_note("I measured 20x35x7 here")
    assert part.kind == "unread"
    assert part.reading["reason"] == "ambiguous_kind"


def test_a_word_of_the_sentence_before_does_not_decide():
    (part,) = split_note("It is the seal. 20x35x7")
    assert part.kind == "unread"


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("set of 6: 16x13 7g", [("set of 6: 16x13 7g", "roller")]),
        ("788 by 17 by 28 please", [("788 by 17 by 28", "belt")]),
        ("743\n20 30", [("743\n20 30", "belt")]),
        ("part RL09-45647 or 2012345678903", [("RL09-45647", "part_number"), ("2012345678903", "gtin")]),
        ("8-12 N.m (80-120 kgf-cm)", [("8-12 N.m", "torque"), ("80-120 kgf-cm", "torque")]),
        ("bearing 6204-2RS C3, tyre 120/70-12 51L", [("6204-2RS C3", "bearing"), ("120/70-12 51L", "tyre")]),
        ("bought 12.5.2024, ridden 3 times", []),
        ("the belt is 17.5 mm wide", []),
        ("", []),
    ],
)
def test_codes_of_a_sentence(text, expected):
    assert found_in(text) == expected


def test_a_code_that_cannot_be_read_says_why():
    (part,) = split_note("it is stamped 152QMX")
    assert (part.kind, part.reading["reason"]) == ("unread", "unknown_class_letter")


def test_parts_do_not_overlap_and_stand_in_order():
    parts = split_note("743 20 30 16x13 7 g 139QMB M8 6204-2RS 8-12 N.m " * 5)
    spans = [part.span for part in parts]
    assert len(parts) >= 15
    assert all(before[1] <= after[0] for before, after in pairwise(spans))


def test_a_long_note_is_cut():
    parts = split_note("a " * 2_500 + "139QMB")
    assert parts == ()
