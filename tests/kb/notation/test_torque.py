"""Factors: NIST SP 811 Appendix B.8 (from memory): 1 lbf.ft = 1.355818 N.m, 1 kgf.m = 9.80665 N.m."""

import pytest

from kb.errors import BadNotation
from kb.notation.torque import format_torque, parse_torque


@pytest.mark.parametrize(
    ("text", "nominal_nm"),
    [
        ("100 lbf.ft", 135.58),
        ("100 lbf.in", 11.30),
        ("10 kgf.m", 98.07),
        ("1000 kgf.cm", 98.07),
        ("40 newton metres", 40),
        ("40 N m", 40),
        ("40 N-m", 40),
        ("40N*m", 40),
        ("4O Nm", 40),
        ("30 FT.LBF", 40.67),
    ],
)
def test_units_are_converted(text, nominal_nm):
    reading = parse_torque(text)
    assert reading.nominal_nm == pytest.approx(nominal_nm, abs=0.005)
    assert (reading.min_nm, reading.max_nm) == (None, None)


@pytest.mark.parametrize(
    "text",
    ["40 NM", "40 nm", "4 kg-m", "4 kgm", "40 kg.cm", "30 ft-lbs", "30 lb ft", "30 foot pounds", "9 in lb"],
)
def test_loose_unit_is_flagged(text):
    assert parse_torque(text).flags == {"unit_assumed"}


@pytest.mark.parametrize("text", ["40 Nm", "40 N.M.".replace(".M.", ".m"), "4 kgf-m", "4 KGF.M", "30 lbf·ft"])
def test_right_unit_is_not_flagged(text):
    assert parse_torque(text).flags == frozenset()


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("8-12 N.m", (8, None, 12)),
        ("8 to 12 Nm", (8, None, 12)),
        ("8～12Nm", (8, None, 12)),
        ("8 N.m - 12 N.m", (8, None, 12)),
        ("8-8 Nm", (8, None, 8)),
        ("8,5-12,5 Nm", (8.5, None, 12.5)),
        ("45±5 N.m", (40, 45, 50)),
        ("45 +/- 5 N.m", (40, 45, 50)),
        ("45 +5/-3 N.m", (42, 45, 50)),
        ("45+5-3N.m", (42, 45, 50)),
    ],
)
def test_ranges_and_tolerances_are_read(text, expected):
    reading = parse_torque(text)
    assert (reading.min_nm, reading.nominal_nm, reading.max_nm) == expected


@pytest.mark.parametrize(
    "text",
    [
        "100 N.m (103 N.m)",
        "100 N.m (97 N.m)",
        "8-12 N.m (0.8-1.2 kgf.m; 6-9 lbf.ft)",
        "10 N.m (8-12 N.m)",
        "8-12 N.m (10 N.m)",
    ],
)
def test_conversion_that_agrees_is_accepted(text):
    assert parse_torque(text).unit == "N.m"


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("100 N.m (103.1 N.m)", "contradictory"),
        ("100 N.m (96.9 N.m)", "contradictory"),
        ("40 N.m (40 kgf.m)", "contradictory"),
        ("8-12 N.m (8-13 N.m)", "contradictory"),
        ("10 N.m (11-12 N.m)", "contradictory"),
        ("40", "missing_unit"),
        ("8-12", "missing_unit"),
        ("40 N.m (30)", "missing_unit"),
        ("40 lb", "unknown_unit"),
        ("40 kg", "unknown_unit"),
        ("40 mN", "unknown_unit"),
        ("40 mN.m", "unknown_unit"),
        ("12-8 N.m", "reversed_range"),
        ("-40 N.m", "out_of_range"),
        ("−40 N.m", "out_of_range"),
        ("0 N.m", "out_of_range"),
        ("5±5 N.m", "out_of_range"),
        ("2000.1 N.m", "out_of_range"),
        ("40/45 N.m", "multiple_values"),
        ("40 45 N.m", "multiple_values"),
        ("8-10-12 N.m", "too_many_numbers"),
        ("N.m", "too_few_numbers"),
        ("tight", "not_recognised"),
        ("8--12 N.m", "not_recognised"),
        ("40 --N.m", "not_recognised"),
        ("40..5 N.m", "not_recognised"),
        ("40 N.m ± 5", "not_recognised"),
        ("40±10% N.m", "not_recognised"),
        ("40 N.m (", "not_recognised"),
        ("1,000 N.m", "ambiguous_separator"),
    ],
)
def test_what_is_no_torque_is_refused_with_its_reason(text, expected):
    with pytest.raises(BadNotation) as refusal:
        parse_torque(text)
    assert refusal.value.reason == expected


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("30 ft-lb", "30 lbf.ft"),
        ("0.8~1.2 kgf-m", "0.8-1.2 kgf.m"),
        ("40Nm (4.1 kgf.m)", "40 N.m"),
        ("45±5 N·m", "45+5/-5 N.m"),
        ("4±0.5 kgf.m", "4+0.5/-0.5 kgf.m"),
    ],
)
def test_torque_has_one_spelling_in_its_printed_unit(text, expected):
    assert format_torque(parse_torque(text)) == expected
    assert parse_torque(expected).nominal_nm == parse_torque(text).nominal_nm
