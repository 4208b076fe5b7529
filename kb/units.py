"""Conversions between units of the trade, exact where the definition is exact.

Everything is stored and computed in mm, g, N·m, degree (included angle), r/min, km; other units
appear only where a person reads or types them.

Source: the inch and the pound are defined as 25.4 mm and 0.45359237 kg, standard gravity as
9.80665 m/s² (SI Brochure; NIST SP 811 Appendix B; the definitions from memory, the products exact).
"""

import math
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
PA_PER_PSI = NEWTON_PER_LBF / (MM_PER_INCH / 1000) ** 2
PA_PER_KGF_CM2 = NEWTON_PER_KGF * 10_000


def convert_inch_to_mm(length_in: float) -> float:
    """Millimetres in a length in inches.

    Example:
        >>> convert_inch_to_mm(1.5)
        38.1
    """
    return float(Fraction(length_in) * MM_PER_INCH)


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


def convert_lbf_in_to_nm(torque_lbf_in: float) -> float:
    """Newton metres in a torque in pound-force inches.

    Example:
        >>> round(convert_lbf_in_to_nm(90.0), 3)
        10.169
    """
    return torque_lbf_in * float(NM_PER_LBF_IN)


def convert_kgf_m_to_nm(torque_kgf_m: float) -> float:
    """Newton metres in a torque in kilogram-force metres (a torque sheet prints "kg·m").

    Example:
        >>> round(convert_kgf_m_to_nm(5.5), 2)
        53.94
    """
    return torque_kgf_m * float(NM_PER_KGF_M)


def convert_kgf_cm_to_nm(torque_kgf_cm: float) -> float:
    """Newton metres in a torque in kilogram-force centimetres.

    Example:
        >>> round(convert_kgf_cm_to_nm(100.0), 3)
        9.807
    """
    return torque_kgf_cm * float(NM_PER_KGF_CM)


def convert_lbf_to_n(force_lbf: float) -> float:
    """Newtons in a force in pound-force.

    Example:
        >>> round(convert_lbf_to_n(10.0), 2)
        44.48
    """
    return force_lbf * float(NEWTON_PER_LBF)


def convert_psi_to_kpa(pressure_psi: float) -> float:
    """Kilopascals in a pressure in pound-force per square inch.

    Example:
        >>> round(convert_psi_to_kpa(29.0), 1)
        199.9
    """
    return pressure_psi * float(PA_PER_PSI / 1000)


def convert_kgf_cm2_to_kpa(pressure_kgf_cm2: float) -> float:
    """Kilopascals in a pressure in kilogram-force per square centimetre.

    Example:
        >>> round(convert_kgf_cm2_to_kpa(1.2), 2)
        117.68
    """
    return pressure_kgf_cm2 * float(PA_PER_KGF_CM2 / 1000)


def convert_rpm_to_rad_per_s(speed_rpm: float) -> float:
    """Radians per second in a speed in revolutions per minute.

    Example:
        >>> round(convert_rpm_to_rad_per_s(60.0), 4)
        6.2832
    """
    return speed_rpm * math.tau / 60.0


def convert_rad_per_s_to_rpm(speed_rad_per_s: float) -> float:
    """Revolutions per minute in a speed in radians per second.

    Example:
        >>> round(convert_rad_per_s_to_rpm(100.0), 2)
        954.93
    """
    return speed_rad_per_s * 60.0 / math.tau
