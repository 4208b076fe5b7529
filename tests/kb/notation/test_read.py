import subprocess
import sys

import pytest

from kb.errors import BadInput, BadNotation
from kb.notation.read import KINDS, format_code, read_as_json, read_code, reading_as_json
from kb.terms import Refusal


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("2900000012349", "gtin"),
        ("20012342", "gtin"),
        ("2900 0000 12349", "gtin"),
        ("]E02900000012349\r", "gtin"),
        ("(01)12900000012346(10)B77", "gtin"),
        ("1922 v 282", "belt_inch"),
        ("139QMB", "engine"),
        ("*139QMB*123*", "engine"),
        ("M8", "thread"),
        ("HK2016", "bearing"),
        ("6202-2RS", "bearing"),
        ("6004 C3", "bearing"),
        ("W25-800", "belt_wide"),
        ("W25 L788 A28", "belt"),
        ("W30-800", "belt"),
        ("120/70-12 51L", "tyre"),
        ("3.50-10", "tyre"),
        ("152Nm", "torque"),
        ("8-12 N.m", "torque"),
        ("16x13 6.5g", "roller"),
        ("3x6g+3x7g".join(["16x13 ", ""]), "roller"),
        ("3 x 1500 rpm", "spring"),
        ("6000 rpm", "spring"),
        ("D=50 d=4", "spring"),
        ("788-17-28", "belt"),
        ("1000-24-28", "belt"),
        ("788 17 28 mm", "belt"),
    ],
)
def test_kind_is_found_by_form(text, kind):
    assert read_code(text).kind == kind


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("20x35x7", "ambiguous_kind"),
        ("16x13", "ambiguous_kind"),
        ("17-28", "ambiguous_kind"),
        ("20,35,7", "ambiguous_kind"),
        ("120-70-12", "ambiguous_kind"),
        ("139QMZ", "unknown_class_letter"),
        ("139XMB", "unknown_cooling_letter"),
        ("12-8 N.m", "reversed_range"),
        ("M8x2", "out_of_range"),
        ("16x13 6.5kg", "out_of_range"),
        ("2900000012340", "not_recognised"),
        ("6202", "not_recognised"),
        ("788", "not_recognised"),
        ("152 mm", "not_recognised"),
        ("100 kg", "not_recognised"),
        ("brake pads", "not_recognised"),
        ("", "empty"),
        ("788-?-28", "not_recognised"),
    ],
)
def test_text_without_a_form_of_its_own_is_refused(text, expected):
    assert read_as_json(text)["reason"] == expected


def test_given_kind_is_the_only_one_tried():
    assert read_code("20x47x14", "bearing").kind == "bearing"
    assert read_code("20x47x14", "seal").kind == "seal"
    with pytest.raises(BadNotation):
        read_code("M8", "belt")


def test_unknown_kind_names_the_kinds():
    with pytest.raises(BadInput) as refusal:
        read_code("788-17-28", "riem")
    assert "belt, belt_wide, belt_inch" in str(refusal.value)
    assert "spring, auto" in str(refusal.value)
    assert refusal.value.field == "kind"


def test_result_leaves_out_what_is_not_written():
    assert read_as_json("669 18", "belt") == {"ok": True, "length_mm": 669, "width_mm": 18}


def test_result_carries_the_kind_only_when_it_was_found():
    assert read_as_json("M8")["kind"] == "thread"
    assert "kind" not in read_as_json("M8", "thread")
    assert reading_as_json(read_code("M8", "thread"), with_kind=True)["kind"] == "thread"


def test_refusal_is_a_result_too():
    assert read_as_json("17-28", "belt") == {
        "ok": False,
        "reason": "no_length",
        "message": "Belt size '17-28' has no number of 400 or more, so the length is missing; "
        "write LENGTH-WIDTH-ANGLE in mm and degrees, for example 788-17-28.",
    }


# One text for each way of being refused; the kind stands where the form alone does not lead to it.
REFUSED = {
    Refusal.EMPTY: ("", "belt"),
    Refusal.NOT_RECOGNISED: ("belt", "belt"),
    Refusal.TOO_FEW_NUMBERS: ("788", "belt"),
    Refusal.TOO_MANY_NUMBERS: ("788-17-28-8-3", "belt"),
    Refusal.NO_LENGTH: ("17-28", "belt"),
    Refusal.TWO_LENGTHS: ("788-669-28", "belt"),
    Refusal.MULTIPLE_VALUES: ("16x13 6g/7g", "roller"),
    Refusal.OUT_OF_RANGE: ("788-17-55", "belt"),
    Refusal.AMBIGUOUS_SEPARATOR: ("1,000-24-28", "belt"),
    Refusal.AMBIGUOUS_KIND: ("20x35x7", "auto"),
    Refusal.UNKNOWN_SECTION: ("W30-800", "belt_wide"),
    Refusal.UNKNOWN_UNIT: ("40 lb", "torque"),
    Refusal.MISSING_UNIT: ("40", "torque"),
    Refusal.REVERSED_RANGE: ("12-8 N.m", "torque"),
    Refusal.CONTRADICTORY: ("40 N.m (6.5 kgf.m)", "torque"),
    Refusal.INCH_THREAD: ("1/4-20", "thread"),
    Refusal.UNKNOWN_CLASS_LETTER: ("139QMZ", "engine"),
    Refusal.UNKNOWN_COOLING_LETTER: ("139XMB", "engine"),
    Refusal.NOT_MOTORCYCLE: ("139QTB", "engine"),
    Refusal.NO_RIM: ("120/70", "tyre"),
    Refusal.BAD_LENGTH: ("12345", "gtin"),
    Refusal.BAD_CHECK_DIGIT: ("2900000012340", "gtin"),
    Refusal.ALL_ZERO: ("0000000000000", "gtin"),
}


@pytest.mark.parametrize("reason", list(Refusal))
def test_every_reason_of_refusal_can_be_met(reason):
    text, kind = REFUSED[reason]
    assert read_as_json(text, kind)["reason"] == reason


def test_every_kind_has_its_spelling():
    texts = {
        "belt": "788-17-28",
        "belt_wide": "W25-800",
        "belt_inch": "1922V282",
        "roller": "16x13 6.5g",
        "thread": "M10x1.25",
        "engine": "139QMB",
        "tyre": "120/70-12 51L",
        "gtin": "2900000012349",
        "torque": "8-12 N.m",
        "bearing": "6202-2RS",
        "seal": "TC 20x35x7",
        "oring": "15x2",
        "spring": "3 x 1500 rpm",
    }
    assert (*texts, "auto") == KINDS
    for kind, text in texts.items():
        assert format_code(read_code(text, kind)) == text


def test_import_loads_no_parser_and_no_heavy_package():
    program = (
        "import sys, kb.notation.read\n"
        "heavy = {'kb.notation.belt', 'kb.standards.threads', 'sqlmodel', 'pydantic', 'rapidfuzz', 'csv'}\n"
        "print(sorted(heavy & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
