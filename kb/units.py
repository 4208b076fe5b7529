"""Conversions between units of the trade, exact where the definition is exact.

Everything is stored and computed in mm, g, N·m, degree (included angle), r/min, km; other units
appear only where a person reads or types them.

Source: the inch and the pound are defined as 25.4 mm and 0.45359237 kg, standard gravity as
9.80665 m/s² (SI Brochure; NIST SP 811 Appendix B; the definitions from memory, the products exact).
"""

from fractions import Fraction

MM_PER_INCH = Fraction(254, 10)
KG_PER_POUND = Fraction(45359237, 100_000_000)
STANDARD_GRAVITY = Fraction(980665, 100_000)
NEWTON_PER_KGF = STANDARD_GRAVITY
NEWTON_PER_LBF = KG_PER_POUND * STANDARD_GRAVITY
METRE_PER_FOOT = Fraction(3048, 10_000)

NM_PER_LBF_FT = NEWTON_PER_LBF * METRE_PER_FOOT
NM_PER_LBF_IN = NM_PER_LBF_FT / 12
NM_PER_KGF_M = NEWTON_PER_KGF
NM_PER_KGF_CM = NEWTON_PER_KGF / 100
KM_PER_MILE = Fraction(1609344, 1_000_000)


def convert_inch_to_mm(length_in: float) -> float:
    """Millimetres in a length in inches.

    Example:
        >>> convert_inch_to_mm(1.5)
        38.1
    """
    return float(length_in * 25.4)


def convert_nm_to_lbf_ft(torque_nm: float) -> float:
    """Pound-force feet in a torque in newton metres.

    Example:
        >>> round(convert_nm_to_lbf_ft(40.0), 2)
        29.5
    """
    return torque_nm / float(NM_PER_LBF_FT)


def convert_nm_to_kgf_m(torque_nm: float) -> float:
    """Kilogram-force metres in a torque in newton metres.

    Example:
        >>> round(convert_nm_to_kgf_m(40.0), 2)
        4.08
    """
    return torque_nm / float(NM_PER_KGF_M)


def convert_lbf_ft_to_nm(torque_lbf_ft: float) -> float:
    """Newton metres in a torque in pound-force feet.

    Example:
        >>> round(convert_lbf_ft_to_nm(30.0), 2)
        40.67
    """
    return torque_lbf_ft * float(NM_PER_LBF_FT)
