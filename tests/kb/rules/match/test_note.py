"""Codes in a pasted note. Forms of the codes: the notations' own tests; sentences are invented."""

from itertools import pairwise

import pytest

from kb.rules.match.note import read_text, split_note


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


@pytest.mark.parametrize(
    ("note", "codes"),
    [
        (
            "belt print LP-669-18-30, case stamp *1E38QMA*12345678*, tyre 3.50-10 51J front",
            [("LP-669-18-30", "part_number"), ("*1E38QMA*12345678*", "engine"), ("3.50-10 51J", "tyre")],
        ),
        (
            "Box label 2301273122306, bearing in cover 6203-2RS/C3, seal behind it 20x32x6 TC",
            [("2301273122306", "gtin"), ("6203-2RS/C3", "bearing"), ("20x32x6", "seal")],
        ),
        (
            "scanned ]C10102301273122306 and (01)02143195136067(10)A77",
            [("]C10102301273122306", "gtin"), ("(01)02143195136067(10)A77", "gtin")],
        ),
        (
            "Plug thread M10 x 1.0, gap 0.7 mm, bulb 12V 10W, battery 12 V 5 Ah, frame LXTCB1234X6000123",
            [
                ("M10 x 1.0", "thread"),
                ("12V 10W", "bulb"),
                ("12 V 5 Ah", "battery"),
                ("LXTCB1234X6000123", "frame_number"),
            ],
        ),
        ("crank nut M10x1.25 35..41 Nm", [("M10x1.25", "thread"), ("35..41 Nm", "torque")]),
        ("wrench set to 30 lbf·ft; nut 17 mm across flats", [("30 lbf·ft", "torque")]),
        ("o ring 18.64 x 3.53 and seal 42/52/6", [("18.64 x 3.53", "oring"), ("42/52/6", "seal")]),
        (
            "TW 2009.8 (2 pcs) and N.62.855 ordered",
            [("TW 2009.8", "part_number"), ("N.62.855", "part_number")],
        ),
        (
            "service at 12,500 km: belt 751x17x28 measured 15.9; paid 35.50 EUR on 12.11.2026",
            [("751x17x28", "belt")],
        ),
        ("belt says 743 2O 3O, rollers l6x13 7g", [("743 2O 3O", "belt"), ("l6x13 7g", "roller")]),
        ("call after 5 pm, rollers 15.4 of 16, springs ok", []),
    ],
    ids=lambda value: value[:20] if isinstance(value, str) else "",
)
def test_each_code_of_a_note_is_found_and_nothing_is_made_up(note, codes):
    assert found_in(note) == codes


def test_a_lone_part_number_among_words_makes_a_note():
    assert [code["text"] for code in read_text("please order VB-14788 for me")["codes"]] == ["VB-14788"]
    assert "codes" not in read_text("VB-14788")
