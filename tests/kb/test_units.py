"""Sources: SI Brochure and NIST SP 811 (definitions from memory); figures printed by pint 0.25.3."""

from fractions import Fraction

import pytest

from kb import units


@pytest.mark.parametrize(
    ("ours", "exact"),
    [  # definitions: 1 in = 25.4 mm, 1 lb = 0.45359237 kg, standard gravity 9.80665 m/s2, 1 mile = 1609.344 m
        (units.MM_PER_INCH, Fraction("25.4")),
        (units.METRE_PER_FOOT, Fraction("0.3048")),
        (units.KG_PER_POUND, Fraction("0.45359237")),
        (units.STANDARD_GRAVITY, Fraction("9.80665")),
        (units.KM_PER_MILE, Fraction("1.609344")),
        (units.NEWTON_PER_KGF, Fraction("9.80665")),
        (units.NEWTON_PER_LBF, Fraction("4.4482216152605")),
        (units.NM_PER_KGF_M, Fraction("9.80665")),
        (units.NM_PER_KGF_CM, Fraction("0.0980665")),
        (units.NM_PER_LBF_FT, Fraction("1.3558179483314004")),
    ],
)
def test_factor_is_the_exact_product_of_definitions(ours, exact):
    assert ours == exact


@pytest.mark.parametrize(
    ("ours", "printed_by_pint"),
    [  # pint 0.25.3 (a units library), one unit converted
        (units.MM_PER_INCH, 25.4),
        (units.METRE_PER_FOOT, 0.3048),
        (units.NEWTON_PER_LBF, 4.4482216152605005),
        (units.NM_PER_LBF_FT, 1.3558179483314006),
        (units.NM_PER_LBF_IN, 0.11298482902761671),
        (units.NM_PER_KGF_M, 9.80665),
        (units.NM_PER_KGF_CM, 0.0980665),
        (units.KM_PER_MILE, 1.609344),
    ],
)
def test_factor_agrees_with_a_units_library(ours, printed_by_pint):
    assert float(ours) == pytest.approx(printed_by_pint, rel=1e-12)


def test_twelve_pound_force_inches_are_a_pound_force_foot():
    assert units.NM_PER_LBF_IN * 12 == units.NM_PER_LBF_FT


@pytest.mark.parametrize(("inches", "millimetres"), [(1.0, 25.4), (1.5, 38.1), (0.3125, 7.9375), (0.0, 0.0)])
def test_inches_become_millimetres(inches, millimetres):
    assert units.convert_inch_to_mm(inches) == pytest.approx(millimetres, abs=1e-12)


@pytest.mark.parametrize(("lbf_ft", "nm"), [(30.0, 40.674538), (100.0, 135.58179)])
def test_pound_force_feet_convert_both_ways(lbf_ft, nm):
    # 1 lbf.ft = 1.3558179483314004 N.m (NIST SP 811)
    assert units.convert_lbf_ft_to_nm(lbf_ft) == pytest.approx(nm, rel=1e-7)
    assert units.convert_nm_to_lbf_ft(nm) == pytest.approx(lbf_ft, rel=1e-7)


@pytest.mark.parametrize(("nm", "kgf_m"), [(9.80665, 1.0), (40.0, 4.0788648)])
def test_newton_metres_become_kilogram_force_metres(nm, kgf_m):
    assert units.convert_nm_to_kgf_m(nm) == pytest.approx(kgf_m, rel=1e-7)


@pytest.mark.parametrize(
    ("convert", "printed", "wanted"),
    [
        (units.convert_lbf_in_to_nm, 90.0, 10.168634612485503),
        (units.convert_kgf_m_to_nm, 5.5, 53.936575),
        (units.convert_kgf_cm_to_nm, 100.0, 9.80665),
        (units.convert_lbf_to_n, 10.0, 44.482216152605),
        (units.convert_psi_to_kpa, 29.0, 199.947961501872),
        (units.convert_kgf_cm2_to_kpa, 1.2, 117.6798),
        (units.convert_rpm_to_rad_per_s, 60.0, 6.283185307179586),
        (units.convert_rad_per_s_to_rpm, 6.283185307179586, 60.0),
    ],
)
def test_printed_figure_converts(convert, printed, wanted):
    """Source: exact products of the defined inch, pound and standard gravity."""
    assert convert(printed) == pytest.approx(wanted, rel=1e-9)
