"""Boundary dimensions: ISO 15 (from memory); designation practice from memory."""

import pytest

from kb.errors import BadNotation
from kb.notation.bearing import format_bearing, parse_bearing


@pytest.mark.parametrize(
    ("text", "bore_mm"), [("6400", 10), ("6401", 12), ("6402", 15), ("6403", 17), ("6404", 20), ("6499", 495)]
)
def test_bore_follows_from_the_last_two_figures(text, bore_mm):
    reading = parse_bearing(text)
    assert reading.bore_mm == bore_mm
    assert (reading.od_mm, reading.width_mm) == (None, None)
    assert reading.flags == {"dimensions_not_in_table"}


@pytest.mark.parametrize(
    ("text", "envelope"),
    [
        ("6204", (20, 47, 14)),
        ("6902", (15, 28, 7)),
        ("61902", (15, 28, 7)),
        ("608", (8, 22, 7)),
        ("HK2016", (20, 26, 16)),
        ("20x47x14 mm", (20, 47, 14)),
        ("699", (9, None, None)),
        ("HK1313", (13, None, 13)),
    ],
)
def test_envelope_comes_from_the_table_or_stays_unknown(text, envelope):
    reading = parse_bearing(text)
    assert (reading.bore_mm, reading.od_mm, reading.width_mm) == envelope


@pytest.mark.parametrize(
    ("text", "seal", "clearance"),
    [
        ("6202", None, None),
        ("6202-2RS C3", "2RS", "C3"),
        ("6202 c3 2rs", "2RS", "C3"),
        ("6202/2RS/C2", "2RS", "C2"),
        ("6202ZZ", "2Z", None),
        ("6202-2Z", "2Z", None),
        ("6202Z", "Z", None),
        ("6202RS", "RS", None),
        ("6202DDU", "DDU", None),
        ("6202-2RSH C5", "2RSH", "C5"),
        ("6202 CN", None, "CN"),
        ("hk2016-rs", "RS", None),
    ],
)
def test_suffixes_give_seal_and_clearance(text, seal, clearance):
    reading = parse_bearing(text)
    assert (reading.seal, reading.clearance) == (seal, clearance)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("62022RS", "not_recognised"),
        ("6082RS", "not_recognised"),  # 608 with 2RS, or a code that does not exist
        ("6202 NR", "not_recognised"),
        ("6202 C1", "not_recognised"),
        ("6202 C3 C4", "not_recognised"),
        ("6202-2RS-ZZ", "not_recognised"),
        ("6000 rpm", "not_recognised"),
        ("7202", "not_recognised"),
        ("HK20", "not_recognised"),
        ("6202-", "not_recognised"),
        ("HK0016", "out_of_range"),
        ("HK2000", "out_of_range"),
        ("47x20x14", "out_of_range"),
        ("20x20x14", "out_of_range"),
        ("20x47x0", "out_of_range"),
        ("0x47x14", "out_of_range"),
    ],
)
def test_what_is_no_bearing_is_refused_with_its_reason(text, expected):
    with pytest.raises(BadNotation) as refusal:
        parse_bearing(text)
    assert refusal.value.reason == expected


@pytest.mark.parametrize(
    ("text", "expected"),
    [("6202/2rs/c3", "6202-2RS C3"), ("6902zz", "6902-2Z"), ("hk 2O16", "HK2016"), ("20-47-14", "20x47x14")],
)
def test_bearing_has_one_spelling(text, expected):
    assert format_bearing(parse_bearing(text)) == expected
    assert format_bearing(parse_bearing(expected)) == expected
