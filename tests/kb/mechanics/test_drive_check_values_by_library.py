"""The expected values of drive_check_values.json computed again by other libraries, without our code.

Every check whose source is a general-purpose library is computed here by shapely, scipy or numpy: perimeters
as convex hulls, radii as bracketed roots, slopes and quantiles as scipy gives them. What the file took from a
unit library is computed with scipy.constants. So the file is known to hold what it says, and
test_drive_check_values.py does not lean on our code.
"""

import json
from collections.abc import Callable
from functools import cache
from itertools import combinations, permutations
from math import cos, degrees, pi, radians, sin, sqrt, tan
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from scipy import constants, stats
from scipy.integrate import quad
from scipy.optimize import brentq
from shapely import LineString, Point, unary_union

Values = dict[str, Any]

CHECKS = json.loads((Path(__file__).parent / "drive_check_values.json").read_text("utf-8"))["checks"]
LIBRARY_CHECKS = [check for check in CHECKS if check["source_kind"] == "general-purpose library"]
QUARTER_SEGMENTS = 2048


def plain(entry: Any) -> Any:
    if isinstance(entry, dict):
        return entry["value"] if "value" in entry else {name: plain(item) for name, item in entry.items()}
    return entry


@cache
def hull_perimeter(centre: float, first: float, second: float) -> float:
    """Perimeter of the convex hull of two circles."""
    discs = [
        Point(place, 0.0).buffer(radius, quad_segs=QUARTER_SEGMENTS)
        for place, radius in ((0.0, first), (centre, second))
    ]
    return float(unary_union(discs).convex_hull.length)


def support_perimeter(centre: float, first: float, second: float) -> float:
    """Perimeter as the integral of the support function (Cauchy), with the corner as a break point."""
    corner = np.arccos((first - second) / centre)

    def support(angle: float) -> float:
        return max(first, second + centre * cos(angle))

    return 2.0 * float(quad(support, 0.0, pi, points=[corner], epsabs=1e-12, epsrel=1e-12)[0])


def second_radius(centre: float, length: float, first: float) -> float:
    return float(
        brentq(
            lambda second: support_perimeter(centre, first, second) - length,
            max(0.0, first - centre) + 1e-6,
            first + centre - 1e-6,
            xtol=1e-12,
        )
    )


def open_length(given: Values) -> Values:
    return {"length": hull_perimeter(given["centre_distance"], given["radius_1"], given["radius_2"])}


def short_form(given: Values) -> Values:
    centre, first, second = given["centre_distance"], given["radius_1"], given["radius_2"]
    short = 2.0 * centre + pi * (first + second) + (second - first) ** 2 / centre
    return {"short_form_error": short - support_perimeter(centre, first, second)}


def driven_from_length(given: Values) -> Values:
    return {"radius_2": second_radius(given["centre_distance"], given["length"], given["radius_1"])}


def radii_from_ratio(given: Values) -> Values:
    centre, ratio = given["centre_distance"], given["ratio"]
    first = brentq(
        lambda radius: support_perimeter(centre, radius, ratio * radius) - given["length"],
        1.0,
        0.45 * centre,
        xtol=1e-12,
    )
    return {"radius_1": first, "radius_2": ratio * first}


def wrap_angles(given: Values) -> Values:
    centre, first, second = given["centre_distance"], given["radius_1"], given["radius_2"]
    step = 1e-3
    wraps = (
        support_perimeter(centre, first + step, second) - support_perimeter(centre, first - step, second),
        support_perimeter(centre, first, second + step) - support_perimeter(centre, first, second - step),
    )
    return {"wrap_1": degrees(wraps[0] / (2.0 * step)), "wrap_2": degrees(wraps[1] / (2.0 * step))}


def length_conventions(given: Values) -> Values:
    """Offset of a drawn belt: a circuit of equal pulleys whose outside length is the one given."""
    centre, outside = 200.0, given["outer_length"]
    radius = brentq(lambda value: hull_perimeter(centre, value, value) - outside, 1.0, 400.0, xtol=1e-12)

    def inwards(depth: float) -> float:
        return hull_perimeter(centre, radius - depth, radius - depth)

    return {"pitch_length": inwards(given["cord_depth"]), "inner_length": inwards(given["thickness"])}


def crossing_height(width: float, first_deg: float, second_deg: float) -> float:
    """Height at which two flanks that start a width apart meet."""
    height = 100.0
    first = LineString([(0.0, 0.0), (height * tan(radians(first_deg)), height)])
    second = LineString([(width, 0.0), (width - height * tan(radians(second_deg)), height)])
    return float(first.intersection(second).y)


def wedge_change(given: Values) -> Values:
    return {"radius_change": crossing_height(given["gap_change"], given["flank_1"], given["flank_2"])}


def top_speed(given: Values) -> Values:
    half = given["angle"] / 2.0
    lost = crossing_height(given["lost_gap"], half, half)
    before_radius = given["full_drive_radius"]
    centre, length = given["centre_distance"], given["pitch_length"]
    before = second_radius(centre, length, before_radius) / before_radius
    after_radius = before_radius - lost
    after = second_radius(centre, length, after_radius) / after_radius
    return {
        "radius_lost": lost,
        "ratio_before": before,
        "ratio_after": after,
        "speed_change_percent": (before / after - 1.0) * 100.0,
    }


def seat(pulley: Values, width: float, gap: float) -> float:
    """Radius at which the gap of the pulley is as wide as the belt's top face, by root finding."""
    lean = tan(radians(pulley["angle"] / 2.0))
    start = pulley["ref_radius"]
    return float(brentq(lambda top: gap + 2.0 * lean * (top - start) - width, -500.0, 500.0, xtol=1e-12))


def operating_points(given: Values) -> Values:
    centre, belt, first, second = (given[name] for name in ("centre_distance", "belt", "drive", "driven"))
    width, thickness, cord = belt["top_width"], belt["thickness"], belt["cord_depth"]
    length = belt["outer_length"] - 2.0 * pi * cord
    open_top, closed_top = (seat(first, width, first[gap]) for gap in ("gap_open", "gap_closed"))
    boss = first["boss_radius"] + thickness
    first_open, first_closed = (max(top, boss) - cord for top in (open_top, closed_top))
    second_open = max(seat(second, width, second["gap_open"]), second["boss_radius"] + thickness) - cord
    second_closed = seat(second, width, second["gap_closed"]) - cord
    slack = max(length - support_perimeter(centre, first_open, second_closed), 0.0)
    if slack > 0.0:
        rest = (second_radius(centre, length, second_closed), second_closed)
    else:
        rest = (first_open, second_radius(centre, length, first_open))
    if length < support_perimeter(centre, first_closed, second_open):
        full, limit = (second_radius(centre, length, second_open), second_open), "driven pulley fully open"
    else:
        full, limit = (first_closed, second_radius(centre, length, first_closed)), "drive pulley fully closed"
    return {
        "rest_drive_radius": rest[0],
        "rest_driven_radius": rest[1],
        "ratio_low": rest[1] / rest[0],
        "full_drive_radius": full[0],
        "full_driven_radius": full[1],
        "ratio_high": full[1] / full[0],
        "slack_at_rest": slack,
        "mount_margin": length - support_perimeter(centre, first_open, second_open),
        "limited_by": limit,
        "drive_edge_at_full": full[0] + cord - first["outer_radius"],
        "driven_edge_at_rest": rest[1] + cord - second["outer_radius"],
        "boss_clearance_at_rest": open_top - boss,
        "grip_margin_at_full": closed_top - boss,
    }


def flank_mismatch(given: Values) -> Values:
    """Two flank lines through the carrying edge, cut at the depth of the other edge."""
    depth = given["thickness"]
    bottom = LineString([(-50.0, -depth), (50.0, -depth)])
    reach = [
        LineString([(0.0, 0.0), (2.0 * depth * sin(lean), -2.0 * depth * cos(lean))]).intersection(bottom).x
        for lean in (radians(given["belt_angle"] / 2.0), radians(given["groove_angle"] / 2.0))
    ]
    edge = "top" if reach[0] > reach[1] else "bottom"
    return {"gap_per_side": abs(reach[0] - reach[1]), "contact_edge": edge}


def rpm(speed: float) -> float:
    return speed * constants.minute / (2.0 * pi)


def rad_per_s(speed: float) -> float:
    return speed * 2.0 * pi / constants.minute


def shift_scaling(given: Values) -> Values:
    pull = given["mass_before"] * given["speed"] ** 2
    return {"speed": brentq(lambda speed: given["mass_after"] * speed**2 - pull, 1.0, 1e5, xtol=1e-9)}


def roller_thrust(mass_g: float, radius_mm: float, speed_rpm: float, angles: tuple[float, float]) -> float:
    """Normal forces of ramp and plate on a roller as a linear system; the axial part of one of them."""
    ramp, plate = (radians(angle) for angle in angles)
    outward = mass_g * constants.gram * radius_mm * constants.milli * rad_per_s(speed_rpm) ** 2
    balance = np.array([[cos(ramp), -cos(plate)], [sin(ramp), sin(plate)]])
    normal = np.linalg.solve(balance, np.array([0.0, outward]))
    return float(normal[0] * cos(ramp))


def roller_force(given: Values) -> Values:
    angles = (given["ramp"], given["plate"])
    return {"axial_force": roller_thrust(given["total_mass"], given["roller_radius"], given["speed"], angles)}


def cam_thrust(torque_nm: float, helix_deg: float, radius_mm: float) -> float:
    """Axial part of the pin's normal force, whose part round the shaft carries half the torque."""
    around, lean = 0.5 * torque_nm / (radius_mm * constants.milli), radians(helix_deg)
    normal = brentq(lambda force: force * cos(lean) - around, 0.0, 1e5, xtol=1e-9)
    return float(normal) * sin(lean)


def cam_force(given: Values) -> Values:
    return {"axial_force": cam_thrust(given["torque"], given["helix"], given["cam_radius"])}


def shift_balance(given: Values) -> Values:
    wraps = wrap_angles({"centre_distance": given["C"], "radius_1": given["r1"], "radius_2": given["r2"]})
    closing = given["spring_force"] + cam_thrust(given.get("torque", 0.0), given["helix"], given["r_cam"])
    wanted = closing * wraps["wrap_1"] / wraps["wrap_2"]
    angles = (given["ramp"], given["plate"])

    def excess(speed: float) -> float:
        return roller_thrust(given["total_mass"], given["roller_radius"], speed, angles) - wanted

    return {"speed": brentq(excess, 1.0, 20_000.0, xtol=1e-9)}


def belt_force(given: Values) -> Values:
    wrap, ratio = radians(given["wrap"]), given["tight"] / given["slack"]
    spread = quad(lambda angle: given["slack"] * ratio ** (angle / wrap), 0.0, wrap)[0]
    return {"axial_force": spread / (2.0 * tan(radians(given["angle"] / 2.0)))}


def roller_imbalance(given: Values) -> Values:
    masses = np.array(given["masses"])
    return {
        "imbalance": float(abs(np.fft.fft(masses)[1])) * given["roller_radius"],
        "mean_mass": float(masses.mean()),
    }


def imbalance_force(given: Values) -> Values:
    moment = given["imbalance"] * constants.gram * constants.milli
    return {"force": moment * rad_per_s(given["speed"]) ** 2}


def residuals(slots: int, heavy: int) -> list[float]:
    """First harmonic of every choice of heavy slots."""
    choices = list(combinations(range(slots), heavy))
    patterns = np.zeros((len(choices), slots))
    for row, choice in enumerate(choices):
        patterns[row, list(choice)] = 1.0
    return [float(value) for value in np.abs(np.fft.fft(patterns, axis=1)[:, 1])]


def balanced_counts(given: Values) -> Values:
    slots = given["slots"]
    return {"counts": [heavy for heavy in range(slots + 1) if min(residuals(slots, heavy)) < 1e-9]}


def best_slots(given: Values) -> Values:
    values = residuals(given["slots"], given["heavy"])
    least = min(values)
    return {
        "residual_per_unit_difference": least,
        "arrangements": sum(value < least + 1e-9 for value in values),
    }


def best_order(given: Values) -> Values:
    orders = np.array(list(permutations(given["masses"])))
    harmonics = np.abs(np.fft.fft(orders, axis=1)[:, 1])
    return {"imbalance": float(harmonics.min()) * given["roller_radius"]}


def clutch_engagement(given: Values) -> Values:
    mass, rest = given["shoe_mass"], given["mass_radius_rest"]
    contact, clearance = rest + given["clearance"], given["clearance"]

    def speed(radius: float, spring: float) -> float:
        return rpm(brentq(lambda w: mass * radius * w**2 - spring, 0.0, 1e4, xtol=1e-10))

    engagement = speed(contact, given["rest_force"] + given["rate"] * clearance)
    return {
        "first_movement_speed": speed(rest, given["rest_force"]),
        "engagement_speed": engagement,
        "engine_speed_at_engagement": engagement * given["ratio_low"],
        "creeps": given["idle_speed"] >= engagement * given["ratio_low"],
    }


def torque_above(given: Values, radius: float, engagement: float, speed: float) -> float:
    """Torque as the integral of its slope from engagement upwards."""
    lever = given["shoes"] * given["mu"] * given["drum_radius"]
    slope = 2.0 * lever * given["shoe_mass"] * radius
    return float(quad(lambda w: slope * w, engagement, speed)[0])


def clutch_torque(given: Values) -> Values:
    radius, speed = given["mass_radius_rest"] + given["clearance"], rad_per_s(given["speed"])
    spring = given["rest_force"] + given["rate"] * given["clearance"]
    engagement = brentq(lambda w: given["shoe_mass"] * radius * w**2 - spring, 0.0, 1e4, xtol=1e-10)
    torque = torque_above(given, radius, engagement, speed)
    return {"torque": torque, "power": torque * speed / constants.kilo}


def clutch_lock(given: Values) -> Values:
    engagement = rad_per_s(given["engagement_speed"])

    def excess(speed: float) -> float:
        return torque_above(given, given["mass_radius"], engagement, speed) - given["torque"]

    return {"lock_speed": rpm(brentq(excess, engagement, 10.0 * engagement, xtol=1e-10))}


def clutch_spring_change(given: Values) -> Values:
    pull = given["force_after"] / given["force_before"] * given["engagement_speed"] ** 2
    return {"engagement_speed": brentq(lambda speed: speed**2 - pull, 1.0, 1e5, xtol=1e-9)}


def spring_rate(given: Values) -> float:
    """Rate from the twisting energy of the wire, integrated along the wire, under a load of 1 N."""
    modulus = given["shear_modulus"] * constants.giga * constants.milli**2
    coil_radius, polar = given["mean_coil"] / 2.0, pi * given["wire"] ** 4 / 32.0
    turns = 2.0 * pi * given["active_coils"]
    energy = quad(lambda _: coil_radius**2 / (2.0 * modulus * polar) * coil_radius, 0.0, turns)[0]
    return 1.0 / (2.0 * float(energy))


def compression_spring(given: Values) -> Values:
    rate = spring_rate(given)
    if "free_length" not in given:
        return {"rate": rate}
    free, cam = given["free_length"], given["cam_force"]
    lengths = (given["length_1"], given["length_2"])
    forces = [float(quad(lambda _: rate, length, free)[0]) for length in lengths]
    worn = [float(quad(lambda _: rate, length, free - given["free_length_lost"])[0]) for length in lengths]
    solid = given["total_coils"] * given["wire"]
    return {
        "rate": rate,
        "force_1": forces[0],
        "force_2": forces[1],
        "loss_1": (1.0 - worn[0] / forces[0]) * 100.0,
        "loss_2": (1.0 - worn[1] / forces[1]) * 100.0,
        "solid_length": solid,
        "solid_margin": lengths[1] - solid,
        "coil_bound": lengths[1] <= solid,
        "clamp_loss_percent": (1.0 - (worn[0] + cam) / (forces[0] + cam)) * 100.0,
    }


def tyre_size(given: Values) -> Values:
    rim_and_sections = {
        "3.50-10": (10.0, 2.0 * 3.5 * constants.inch),
        "100/90-10": (10.0, 2.0 * 100.0 * constants.milli * 0.9),
    }
    rim, sections = rim_and_sections[given["tyre"]]
    diameter = (rim * constants.inch + sections) / constants.milli
    return {"overall_diameter": diameter, "rolling_circumference": pi * diameter}


def road_speed(given: Values) -> Values:
    way = tyre_size(given)["rolling_circumference"] * constants.milli
    turns_per_s = given["engine_speed"] / constants.minute / given["ratio"] / given["final_reduction"]
    return {"road_speed": turns_per_s * way / constants.kmh}


def wear_line(given: Values) -> Values:
    odometer, sizes = np.array(given["odometer"], float), np.array(given["reading"])
    line = stats.linregress(odometer, sizes)
    last, limit, count = odometer[-1], given["limit"], len(odometer)
    quantile = stats.t.ppf(0.95, count - 2)
    if line.slope + quantile * line.stderr >= 0.0:
        return {"remaining": None, "low": None, "high": None}
    residual = sizes - line.intercept - line.slope * odometer
    scatter = sqrt(float(residual @ residual) / (count - 2))
    spread = float(((odometer - odometer.mean()) ** 2).sum())

    def band(distance: float, side: float) -> float:
        width = quantile * scatter * sqrt(1.0 / count + (distance - odometer.mean()) ** 2 / spread)
        return float(line.intercept + line.slope * distance + side * width - limit)

    meetings = [brentq(band, last, 20.0 * last, args=(side,)) - last for side in (0.0, -1.0, 1.0)]
    return {
        "rate": line.slope,
        "level_now": line.intercept + line.slope * last,
        "remaining": meetings[0],
        "low": meetings[1],
        "high": meetings[2],
    }


def wear_robust(given: Values) -> Values:
    odometer, sizes = np.array(given["odometer"], float), np.array(given["reading"], float)
    fit = stats.theilslopes(sizes, odometer, alpha=given.get("confidence", 0.9))
    level = float(fit.intercept + fit.slope * odometer[-1])
    room = level - given["limit"]
    wears = fit.slope < 0.0
    return {
        "rate": fit.slope,
        "rate_fast": fit.low_slope,
        "rate_slow": fit.high_slope,
        "level_now": level,
        "remaining": -room / fit.slope if wears else None,
        "low": -room / fit.low_slope if wears else None,
        "high": -room / fit.high_slope if wears and fit.high_slope < 0.0 else None,
    }


SI = {
    "lbf*ft": constants.lbf * constants.foot,
    "lbf*in": constants.lbf * constants.inch,
    "kgf*m": constants.kgf,
    "N*m": 1.0,
    "kgf/cm^2": constants.kgf / constants.centi**2,
    "kPa": constants.kilo,
}


def unit_conversion(given: Values) -> Values:
    return {"converted": given["quantity"] * SI[given["from"]] / SI[given["to"]]}


ROUTES: dict[str, Callable[[Values], Values]] = {
    "open belt length": open_length,
    "open belt length, short form error": short_form,
    "driven radius from belt length": driven_from_length,
    "radii from ratio": radii_from_ratio,
    "wrap angles": wrap_angles,
    "belt length conventions": length_conventions,
    "radius change from gap or width": wedge_change,
    "top speed after lost gap": top_speed,
    "operating points": operating_points,
    "flank angle mismatch": flank_mismatch,
    "shift speed scaling": shift_scaling,
    "shift speed balance": shift_balance,
    "roller axial force": roller_force,
    "belt axial force": belt_force,
    "cam axial force": cam_force,
    "roller set imbalance": roller_imbalance,
    "imbalance force": imbalance_force,
    "balanced heavy counts": balanced_counts,
    "best slots for heavy rollers": best_slots,
    "best order of weighed rollers": best_order,
    "clutch engagement": clutch_engagement,
    "clutch torque": clutch_torque,
    "clutch lock speed": clutch_lock,
    "clutch spring change": clutch_spring_change,
    "compression spring": compression_spring,
    "tyre size": tyre_size,
    "road speed": road_speed,
    "wear line": wear_line,
    "wear, robust": wear_robust,
    "unit conversion": unit_conversion,
}


@pytest.mark.parametrize("check", LIBRARY_CHECKS, ids=[check["id"] for check in LIBRARY_CHECKS])
def test_library_gives_the_expected_value(check: Any) -> None:
    results = ROUTES[check["kind"]](plain(check["inputs"]))
    for name, entry in check["expected"].items():
        wanted, why = plain(entry), f"{check['id']}, {name}; source: {check['source']}"
        if isinstance(wanted, float) and not isinstance(entry, bool):
            bounds = check["tolerance"][name]
            near = pytest.approx(wanted, rel=bounds.get("rel", 0.0), abs=bounds.get("abs", 0.0))
            assert results[name] == near, why
        else:
            assert results[name] == wanted, why
