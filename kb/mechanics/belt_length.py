"""Length of an open belt round two pulleys, and what follows when the length is known.

All radii are those of the line whose length is meant: pitch radii go with the pitch length.
The drive pulley sits on the engine, the driven pulley on the clutch shaft; both formulas are
symmetric, so a function for one pulley serves the other.

Source: published: open belt length in Shigley, Mechanical Engineering Design, flexible elements, and in
Machinery's Handbook (both from memory, re-derived and compared with the perimeter of the convex hull
of two circles). The angle is an arc sine: published exercises that take the arc tangent come out short.
"""

from math import asin, inf, pi, sqrt, tau

from kb.errors import BadInput
from kb.mechanics.plausible_input import check_not_negative, check_positive
from kb.terms import LengthKind

DEFAULT_CORD_DEPTH_MM = 2.0
"""Depth of the cord below the top face when not measured; range 1 to 3 mm; judgement of this project."""

_STEP_SHARE = 1e-12


def hull_length_mm(centre_distance_mm: float, drive_radius_mm: float, *, driven_radius_mm: float) -> float:
    """Shortest closed line round two circles, unchecked; round the larger one if it holds the other.

    Continuous and rising in every argument, which makes it the right thing to compare lengths with when a
    seat radius may be absurd. ``open_belt_length_mm`` is the checked form.

    Args:
        centre_distance_mm: distance of the shafts [mm], above 0.
        drive_radius_mm: radius on the drive pulley [mm].
        driven_radius_mm: radius on the driven pulley [mm].

    Returns:
        Length [mm].
    """
    difference = driven_radius_mm - drive_radius_mm
    if not -centre_distance_mm < difference < centre_distance_mm:
        return tau * max(drive_radius_mm, driven_radius_mm)
    return (
        2.0 * sqrt(centre_distance_mm * centre_distance_mm - difference * difference)
        + pi * (drive_radius_mm + driven_radius_mm)
        + 2.0 * difference * asin(difference / centre_distance_mm)
    )


def open_belt_length_mm(
    centre_distance_mm: float, drive_radius_mm: float, *, driven_radius_mm: float
) -> float:
    """Exact length of an open belt.

    Args:
        centre_distance_mm: distance of the shafts [mm], above 0.
        drive_radius_mm: radius on the drive pulley [mm], above 0.
        driven_radius_mm: radius on the driven pulley [mm], above 0.

    Returns:
        Length [mm] of the line on which the radii were taken.

    Raises:
        BadInput: a value not above 0, or one circle inside the other.

    Example:
        >>> round(open_belt_length_mm(200.0, 32.5, driven_radius_mm=32.5), 3)
        604.204
        >>> open_belt_length_mm(40.0, 10.0, driven_radius_mm=55.0)
        Traceback (most recent call last):
        ...
        kb.errors.BadInput: Radii '10.0' and '55.0' differ by 40 mm or more, the centre distance; one pulley \
would lie inside the other; measure the radii and the centre distance again.
    """
    _check_circles(centre_distance_mm, drive_radius_mm, driven_radius_mm=driven_radius_mm)
    return hull_length_mm(centre_distance_mm, drive_radius_mm, driven_radius_mm=driven_radius_mm)


def short_form_length_mm(
    centre_distance_mm: float, drive_radius_mm: float, *, driven_radius_mm: float
) -> float:
    """Length by the three-term approximation that trade tables use; only to explain a difference.

    Too short by about (difference of radii)⁴ / (12 · centre distance³).

    Args:
        centre_distance_mm: distance of the shafts [mm], above 0.
        drive_radius_mm: radius on the drive pulley [mm], above 0.
        driven_radius_mm: radius on the driven pulley [mm], above 0.

    Returns:
        Approximate length [mm].

    Raises:
        BadInput: as ``open_belt_length_mm``.
    """
    _check_circles(centre_distance_mm, drive_radius_mm, driven_radius_mm=driven_radius_mm)
    difference = driven_radius_mm - drive_radius_mm
    return (
        2.0 * centre_distance_mm
        + pi * (drive_radius_mm + driven_radius_mm)
        + difference * difference / centre_distance_mm
    )


def wrap_angles_rad(
    centre_distance_mm: float, drive_radius_mm: float, *, driven_radius_mm: float
) -> tuple[float, float]:
    """Angles that the belt lies on the drive and on the driven pulley; they add to a full turn.

    Args:
        centre_distance_mm: distance of the shafts [mm], above 0.
        drive_radius_mm: radius on the drive pulley [mm], above 0.
        driven_radius_mm: radius on the driven pulley [mm], above 0.

    Returns:
        Drive angle and driven angle [rad].

    Raises:
        BadInput: as ``open_belt_length_mm``.
    """
    _check_circles(centre_distance_mm, drive_radius_mm, driven_radius_mm=driven_radius_mm)
    lean = 2.0 * asin((driven_radius_mm - drive_radius_mm) / centre_distance_mm)
    return pi - lean, pi + lean


def other_radius_mm(centre_distance_mm: float, length_mm: float, *, radius_mm: float) -> float:
    """Radius on the second pulley that takes up the length, unchecked; the caller knows there is one.

    The length is convex and rising in the difference of the radii, and the three-term form is never longer
    than the exact one. Its root therefore lies on the far side, from where Newton's method runs towards the
    exact root without passing it.

    Args:
        centre_distance_mm: distance of the shafts [mm], above 0.
        length_mm: belt length [mm].
        radius_mm: radius on the first pulley [mm].

    Returns:
        Radius on the second pulley [mm].
    """
    centre = centre_distance_mm
    if length_mm >= tau * (radius_mm + centre):
        return length_mm / tau
    base = tau * radius_mm - length_mm
    discriminant = pi * pi - 4.0 * (2.0 + base / centre)
    difference = min(0.5 * centre * (sqrt(max(discriminant, 0.0)) - pi), centre)
    step, smallest_step = inf, centre * _STEP_SHARE
    while step > smallest_step:
        lean = asin(max(difference / centre, -1.0))
        slope = pi + 2.0 * lean
        straight = 2.0 * sqrt(max(centre * centre - difference * difference, 0.0))
        excess = straight + pi * difference + base + 2.0 * difference * lean
        if excess <= 0.0 or slope <= 0.0:
            break
        step = excess / slope
        difference -= step
    return radius_mm + difference


def driven_radius_mm(centre_distance_mm: float, length_mm: float, *, drive_radius_mm: float) -> float:
    """Radius on the driven pulley when length and drive radius are known (or the other way round).

    Args:
        centre_distance_mm: distance of the shafts [mm], above 0.
        length_mm: belt length [mm], on the same line as the radii.
        drive_radius_mm: radius on the drive pulley [mm], above 0.

    Returns:
        Radius on the driven pulley [mm].

    Raises:
        BadInput: no open belt of this length lies on that radius.

    Example:
        >>> round(driven_radius_mm(260.0, 775.4336, drive_radius_mm=44.996), 2)
        36.22
    """
    check_positive("centre_distance_mm", centre_distance_mm)
    check_positive("drive_radius_mm", drive_radius_mm)
    smallest = max(0.0, drive_radius_mm - centre_distance_mm)
    shortest = hull_length_mm(centre_distance_mm, drive_radius_mm, driven_radius_mm=smallest)
    longest = tau * (drive_radius_mm + centre_distance_mm)
    if not shortest < length_mm < longest:
        raise BadInput(
            f"Belt length '{length_mm}' mm does not lie between {shortest:.1f} and {longest:.1f} mm, "
            f"what a centre distance of {centre_distance_mm:g} mm and a radius of {drive_radius_mm:g} mm "
            "allow; measure the length and its kind again.",
            field="length_mm",
        )
    return other_radius_mm(centre_distance_mm, length_mm, radius_mm=drive_radius_mm)


def radii_for_ratio_mm(centre_distance_mm: float, length_mm: float, *, ratio: float) -> tuple[float, float]:
    """Radii on drive and driven pulley at a ratio.

    Args:
        centre_distance_mm: distance of the shafts [mm], above 0.
        length_mm: belt length [mm], on the same line as the radii.
        ratio: driven radius over drive radius, above 0.

    Returns:
        Drive radius and driven radius [mm].

    Raises:
        BadInput: no open belt of this length gives that ratio.

    Example:
        >>> [round(radius, 2) for radius in radii_for_ratio_mm(260.0, 775.4336, ratio=1.0)]
        [40.65, 40.65]
    """
    check_positive("centre_distance_mm", centre_distance_mm)
    check_positive("ratio", ratio)
    centre = centre_distance_mm
    spread = ratio - 1.0
    largest = centre / abs(spread) if spread else inf
    if not 2.0 * centre < length_mm < tau * largest * max(1.0, ratio):
        raise BadInput(
            f"Belt length '{length_mm}' mm cannot give the ratio {ratio:g} at a centre distance "
            f"of {centre:g} mm; measure the length and the centre distance again.",
            field="length_mm",
        )
    # As in other_radius_mm: from the root of the three-term form down to the exact root.
    linear = pi * (1.0 + ratio)
    room = length_mm - 2.0 * centre
    radius = min(
        2.0 * room / (linear + sqrt(linear * linear + 4.0 * spread * spread / centre * room)), largest
    )
    step = inf
    while step > centre * _STEP_SHARE:
        lean = 2.0 * asin(max(-1.0, min(1.0, spread * radius / centre)))
        excess = hull_length_mm(centre, radius, driven_radius_mm=ratio * radius) - length_mm
        step = excess / (pi - lean + ratio * (pi + lean))
        radius -= step
    return radius, ratio * radius


def convert_belt_length_mm(
    length_mm: float,
    kind: LengthKind,
    *,
    to: LengthKind,
    thickness_mm: float | None = None,
    cord_depth_mm: float | None = None,
) -> float:
    """Length of the same belt along another of its lines.

    A closed convex line moved inwards by x becomes 2π·x shorter, whatever its shape.

    Args:
        length_mm: length [mm], above 0.
        kind: line along which it was given.
        to: line along which it is wanted.
        thickness_mm: belt thickness [mm]; needed when an inside length is involved.
        cord_depth_mm: depth of the cord below the top face [mm]; needed when a pitch length is involved.

    Returns:
        Length [mm] along the wanted line.

    Raises:
        BadInput: a depth that is needed is missing or not above 0, or nothing is left of the length.

    Source:
        published: Steiner's formula for parallel curves; compared numerically with the open belt length.

    Example:
        >>> outside, pitch = LengthKind.OUTSIDE, LengthKind.PITCH
        >>> round(convert_belt_length_mm(788.0, outside, to=pitch, cord_depth_mm=2.0), 3)
        775.434
    """
    check_positive("length_mm", length_mm)
    depths = {LengthKind.OUTSIDE: 0.0, LengthKind.PITCH: cord_depth_mm, LengthKind.INSIDE: thickness_mm}
    if kind == to:
        return length_mm
    converted = length_mm + tau * (_known_depth(depths[kind], kind) - _known_depth(depths[to], to))
    check_positive(f"{to}_length_mm", converted)
    return converted


def pitch_length_mm(outside_length_mm: float, cord_depth_mm: float) -> float:
    """Pitch length [mm] of a belt from its outside length and the depth of its cord [mm], unchecked."""
    return outside_length_mm - tau * cord_depth_mm


def inside_length_mm(outside_length_mm: float, thickness_mm: float) -> float:
    """Inside length [mm] of a belt from its outside length and its thickness [mm], unchecked."""
    return outside_length_mm - tau * thickness_mm


def is_length_kind_suspect(
    difference_mm: float,
    thickness_mm: float | None = None,
    *,
    smallest_mm: float = 45.0,
    largest_mm: float = 60.0,
) -> bool:
    """Whether two lengths differ by so much as an outside and an inside length of one belt do.

    Args:
        difference_mm: difference of the two lengths [mm], either sign.
        thickness_mm: belt thickness [mm] if known; then 2π times it, give or take 5 mm, is the band.
        smallest_mm: lower end of the band [mm] when the thickness is not known.
        largest_mm: upper end of the band [mm] when the thickness is not known.

    Returns:
        True if the outside length should be measured before a word is said; both ends belong to the band.

    Source:
        The 2π·thickness is exact; the bands are judgement of this project.

    Example:
        >>> is_length_kind_suspect(53.4, 8.5), is_length_kind_suspect(30.0)
        (True, False)
    """
    if thickness_mm is not None:
        smallest_mm, largest_mm = tau * thickness_mm - 5.0, tau * thickness_mm + 5.0
    return smallest_mm <= abs(difference_mm) <= largest_mm


def _known_depth(depth_mm: float | None, kind: LengthKind) -> float:
    if depth_mm is None:
        field = "cord_depth_mm" if kind == LengthKind.PITCH else "thickness_mm"
        raise BadInput(
            f"Value 'None' of '{field}' is needed to convert the {kind} length; measure it.", field=field
        )
    check_not_negative(f"depth of the {kind} line", depth_mm)
    return depth_mm


def _check_circles(centre_distance_mm: float, drive_radius_mm: float, *, driven_radius_mm: float) -> None:
    check_positive("centre_distance_mm", centre_distance_mm)
    check_positive("drive_radius_mm", drive_radius_mm)
    check_positive("driven_radius_mm", driven_radius_mm)
    if abs(driven_radius_mm - drive_radius_mm) >= centre_distance_mm:
        raise BadInput(
            f"Radii '{drive_radius_mm}' and '{driven_radius_mm}' differ by {centre_distance_mm:g} mm or "
            "more, the centre distance; one pulley would lie inside the other; "
            "measure the radii and the centre distance again.",
            field="centre_distance_mm",
        )
