"""Every check value of drive_check_values.json against the code.

The file carries the source of each value: a published exercise, a conversion table, a general-purpose
library, a second route of derivation, common practice, or memory; it stands in the message of a failing
check. Values computed by a general-purpose library are computed again, without our code, in
test_drive_check_values_by_library.py.
"""

import json
from collections.abc import Callable
from math import degrees
from pathlib import Path
from typing import Any

import pytest

from kb import units
from kb.errors import BadInput
from kb.mechanics import belt_length, clutch, contra_spring, road_speed, rollers, shift_force, wedge
from kb.mechanics.belt_code_comparison import BeltCode, compare_codes
from kb.mechanics.belt_geometry_comparison import compare_in_drive
from kb.mechanics.drive_range import Belt, Drive, Pulley, find_range
from kb.mechanics.fit_class import FitClass
from kb.mechanics.lost_gap import lost_gap
from kb.mechanics.wear_bounds import WearUncertainty, bound_wear
from kb.mechanics.wear_line import project_line
from kb.mechanics.wear_reading import WearProjection, WearReading
from kb.mechanics.wear_robust import project_robust
from kb.notation import belt as belt_notation
from kb.terms import LengthKind

Inputs = dict[str, Any]
Results = dict[str, Any]

CHECKS = json.loads((Path(__file__).parent / "drive_check_values.json").read_text("utf-8"))["checks"]
WORD_OF_CLASS = {
    FitClass.SAME_SIZE: "same size",
    FitClass.USABLE: "usable with stated consequence",
    FitClass.DOES_NOT_FIT: "doesn't fit",
    FitClass.CANNOT_TELL: "can't tell",
}


def plain(entry: Any) -> Any:
    """Value without its unit; a belt or a pulley becomes a dictionary of plain values."""
    if isinstance(entry, dict):
        return entry["value"] if "value" in entry else {name: plain(item) for name, item in entry.items()}
    return entry


def mm(entry: Any) -> float:
    return entry["value"] * {"mm": 1.0, "m": 1000.0}[entry["unit"]]


def grams(entry: Any) -> float:
    return entry["value"] * {"g": 1.0, "kg": 1000.0}[entry["unit"]]


def circles(given: Inputs) -> tuple[float, float, float]:
    return mm(given["centre_distance"]), mm(given["radius_1"]), mm(given["radius_2"])


def open_length(given: Inputs) -> Results:
    centre, drive, driven = circles(given)
    return {"length": belt_length.open_belt_length_mm(centre, drive, driven_radius_mm=driven)}


def short_form(given: Inputs) -> Results:
    centre, drive, driven = circles(given)
    exact = belt_length.open_belt_length_mm(centre, drive, driven_radius_mm=driven)
    return {
        "short_form_error": belt_length.short_form_length_mm(centre, drive, driven_radius_mm=driven) - exact
    }


def driven_from_length(given: Inputs) -> Results:
    radius = belt_length.driven_radius_mm(
        mm(given["centre_distance"]), mm(given["length"]), drive_radius_mm=mm(given["radius_1"])
    )
    return {"radius_2": radius}


def radii_from_ratio(given: Inputs) -> Results:
    drive, driven = belt_length.radii_for_ratio_mm(
        mm(given["centre_distance"]), mm(given["length"]), ratio=plain(given["ratio"])
    )
    return {"radius_1": drive, "radius_2": driven}


def wrap_angles(given: Inputs) -> Results:
    centre, drive, driven = circles(given)
    first, second = belt_length.wrap_angles_rad(centre, drive, driven_radius_mm=driven)
    return {"wrap_1": degrees(first), "wrap_2": degrees(second)}


def length_conventions(given: Inputs) -> Results:
    outside, thickness, cord = (mm(given[name]) for name in ("outer_length", "thickness", "cord_depth"))
    kind = LengthKind.OUTSIDE
    return {
        "pitch_length": belt_length.convert_belt_length_mm(
            outside, kind, to=LengthKind.PITCH, cord_depth_mm=cord
        ),
        "inner_length": belt_length.convert_belt_length_mm(
            outside, kind, to=LengthKind.INSIDE, thickness_mm=thickness
        ),
    }


def wedge_change(given: Inputs) -> Results:
    first, second = plain(given["flank_1"]), plain(given["flank_2"])
    return {"radius_change": wedge.radius_change_mm(mm(given["gap_change"]), first, flank_2_deg=second)}


def top_speed(given: Inputs) -> Results:
    change = lost_gap(
        mm(given["centre_distance"]),
        mm(given["pitch_length"]),
        full_drive_radius_mm=mm(given["full_drive_radius"]),
        angle_deg=plain(given["angle"]),
        lost_width_mm=mm(given["lost_gap"]),
    )
    return {
        "radius_lost": change.radius_lost_mm,
        "ratio_before": change.ratio_before,
        "ratio_after": change.ratio_after,
        "speed_change_percent": change.speed_change_percent,
    }


def read_pulley(given: Inputs) -> Pulley:
    values = plain(given)
    return Pulley(
        angle_deg=values["angle"],
        outer_radius_mm=values["outer_radius"],
        boss_radius_mm=values["boss_radius"],
        gap_radius_mm=values["ref_radius"],
        gap_open_mm=values["gap_open"],
        gap_closed_mm=values["gap_closed"],
    )


def read_drive(given: Inputs) -> Drive:
    return Drive(mm(given["centre_distance"]), read_pulley(given["drive"]), read_pulley(given["driven"]))


def read_belt(given: Inputs) -> Belt:
    values = plain(given)
    return Belt(
        length_mm=values["outer_length"],
        top_width_mm=values["top_width"],
        angle_deg=values["angle"],
        thickness_mm=values["thickness"],
        cord_depth_mm=values["cord_depth"],
    )


def operating_points(given: Inputs) -> Results:
    span = find_range(read_drive(given), read_belt(given["belt"]))
    assert span.limited_by is not None
    return {
        "rest_drive_radius": span.drive_radius_low_mm,
        "rest_driven_radius": span.driven_radius_low_mm,
        "ratio_low": span.ratio_low,
        "full_drive_radius": span.drive_radius_high_mm,
        "full_driven_radius": span.driven_radius_high_mm,
        "ratio_high": span.ratio_high,
        "slack_at_rest": span.slack_at_rest_mm,
        "mount_margin": span.mount_margin_mm,
        "limited_by": span.limited_by.value,
        "drive_edge_at_full": span.drive_edge_mm,
        "driven_edge_at_rest": span.driven_edge_mm,
        "boss_clearance_at_rest": span.boss_clearance_mm,
        "grip_margin_at_full": span.grip_margin_mm,
    }


def verdict_with_geometry(given: Inputs) -> Results:
    answer = compare_in_drive(read_drive(given), read_belt(given["specified"]), read_belt(given["candidate"]))
    reasons = sorted(answer.reasons)
    return {
        "verdict": WORD_OF_CLASS[answer.fit_class],
        "reasons": reasons,
        "reasons_include": reasons,
        "measure": list(answer.measure),
    }


def read_code(given: Inputs) -> BeltCode:
    """A code of the file, in which an absent length kind means outer."""
    values = plain(given)
    kinds = {"outer": LengthKind.OUTSIDE, "inner": LengthKind.INSIDE}
    kind = kinds[values.get("length_kind", "outer")]
    return BeltCode(values["outer_length"], values["top_width"], values["angle"], length_kind=kind)


def verdict_from_codes(given: Inputs) -> Results:
    answer = compare_codes(read_code(given["specified"]), read_code(given["candidate"]))
    return {"verdict": WORD_OF_CLASS[answer.fit_class], "measure": list(answer.measure)}


def code_reading(given: Inputs) -> Results:
    reading = belt_notation.parse_belt(given["code"])
    return {"outer_length": reading.length_mm, "top_width": reading.width_mm, "angle": reading.angle_deg}


def flank_mismatch(given: Inputs) -> Results:
    mismatch = wedge.flank_mismatch(
        plain(given["belt_angle"]), plain(given["groove_angle"]), thickness_mm=mm(given["thickness"])
    )
    return {"gap_per_side": mismatch.gap_per_side_mm, "contact_edge": mismatch.contact_edge.value}


def shift_scaling(given: Inputs) -> Results:
    before, after = grams(given["mass_before"]), grams(given["mass_after"])
    return {"speed": shift_force.shift_speed_rpm(plain(given["speed"]), before, mass_after_g=after)}


def read_ramps(given: Inputs) -> shift_force.RollerRamps:
    return shift_force.RollerRamps(
        total_mass_g=grams(given["total_mass"]),
        roller_radius_mm=mm(given["roller_radius"]),
        ramp_deg=plain(given["ramp"]),
        plate_deg=plain(given["plate"]),
    )


def roller_force(given: Inputs) -> Results:
    return {"axial_force": shift_force.roller_axial_force_n(read_ramps(given), plain(given["speed"]))}


def shift_balance(given: Inputs) -> Results:
    torque = plain(given["torque"]) if "torque" in given else 0.0
    cam = shift_force.cam_axial_force_n(torque, plain(given["helix"]), cam_radius_mm=mm(given["r_cam"]))
    speed = shift_force.holding_speed_rpm(
        read_ramps(given),
        plain(given["spring_force"]) + cam,
        centre_distance_mm=mm(given["C"]),
        drive_radius_mm=mm(given["r1"]),
        driven_radius_mm=mm(given["r2"]),
    )
    return {"speed": speed}


def belt_force(given: Inputs) -> Results:
    force = shift_force.belt_axial_force_n(
        plain(given["tight"]),
        plain(given["slack"]),
        wrap_deg=plain(given["wrap"]),
        angle_deg=plain(given["angle"]),
    )
    return {"axial_force": force}


def cam_force(given: Inputs) -> Results:
    force = shift_force.cam_axial_force_n(
        plain(given["torque"]), plain(given["helix"]), cam_radius_mm=mm(given["cam_radius"])
    )
    return {"axial_force": force}


def roller_imbalance(given: Inputs) -> Results:
    masses = plain(given["masses"])
    return {
        "imbalance": rollers.imbalance_g_mm(masses, mm(given["roller_radius"])),
        "mean_mass": rollers.mean_mass_g(masses),
    }


def imbalance_force(given: Inputs) -> Results:
    return {"force": rollers.imbalance_force_n(plain(given["imbalance"]), plain(given["speed"]))}


def balanced_counts(given: Inputs) -> Results:
    return {"counts": list(rollers.list_balanced_counts(plain(given["slots"])))}


def balance_possible(given: Inputs) -> Results:
    return {"possible": rollers.is_balance_possible(plain(given["slots"]), plain(given["heavy"]))}


def best_slots(given: Inputs) -> Results:
    plan = rollers.best_slots(plain(given["slots"]), plain(given["heavy"]))
    return {"residual_per_unit_difference": plan.residual, "arrangements": len(plan.arrangements)}


def best_order(given: Inputs) -> Results:
    return {
        "imbalance": rollers.best_order(plain(given["masses"]), mm(given["roller_radius"])).imbalance_g_mm
    }


def read_shoe(given: Inputs) -> clutch.ClutchShoe:
    return clutch.ClutchShoe(
        mass_g=grams(given["shoe_mass"]),
        mass_radius_mm=mm(given["mass_radius_rest"]),
        rest_force_n=plain(given["rest_force"]),
        clearance_mm=mm(given["clearance"]) if "clearance" in given else 0.0,
        rate_n_per_mm=plain(given["rate"]) / 1000.0 if "rate" in given else 0.0,
    )


def clutch_mass(given: Inputs) -> Results:
    """Torque above engagement is proportional to shoe mass: divide the torque wanted by that of 1 kg."""
    speed, mass_radius = plain(given["speed"]), mm(given["mass_radius"])
    engagement = plain(given["engage_fraction"]) * speed
    spring = clutch.centrifugal_force_n(1000.0, mass_radius, speed_rpm=engagement)
    shoe = clutch.ClutchShoe(1000.0, mass_radius, spring)
    drum = clutch.Clutch(shoe, plain(given["shoes"]), mm(given["drum_radius"]), plain(given["mu"]))
    return {"shoe_mass": plain(given["power"]) / clutch.power_capacity_kw(drum, speed)}


def clutch_torque(given: Inputs) -> Results:
    drum = clutch.Clutch(
        read_shoe(given), plain(given["shoes"]), mm(given["drum_radius"]), plain(given["mu"])
    )
    speed = plain(given["speed"])
    return {
        "torque": clutch.torque_capacity_nm(drum, speed),
        "power": clutch.power_capacity_kw(drum, speed),
    }


def clutch_engagement(given: Inputs) -> Results:
    shoe = read_shoe(given)
    results: Results = {"first_movement_speed": clutch.first_movement_rpm(shoe)}
    if "ratio_low" in given:
        engagement, ratio = clutch.engagement_rpm(shoe), plain(given["ratio_low"])
        results["engagement_speed"] = engagement
        results["engine_speed_at_engagement"] = clutch.engine_speed_at_engagement_rpm(engagement, ratio)
        results["creeps"] = clutch.is_creeping(
            plain(given["idle_speed"]), ratio, clutch_engagement_rpm=engagement
        )
    return results


def centrifugal_force(given: Inputs) -> Results:
    speed = units.convert_rad_per_s_to_rpm(plain(given["angular_speed"]))
    return {"force": clutch.centrifugal_force_n(grams(given["mass"]), mm(given["radius"]), speed_rpm=speed)}


def clutch_lock(given: Inputs) -> Results:
    mass, radius = grams(given["shoe_mass"]), mm(given["mass_radius"])
    spring = clutch.centrifugal_force_n(mass, radius, speed_rpm=plain(given["engagement_speed"]))
    drum = clutch.Clutch(
        clutch.ClutchShoe(mass, radius, spring),
        plain(given["shoes"]),
        mm(given["drum_radius"]),
        plain(given["mu"]),
    )
    return {"lock_speed": clutch.lock_up_rpm(drum, plain(given["torque"]))}


def clutch_spring_change(given: Inputs) -> Results:
    speed = clutch.engagement_after_force_change_rpm(
        plain(given["engagement_speed"]),
        plain(given["force_before"]),
        force_after_n=plain(given["force_after"]),
    )
    return {"engagement_speed": speed}


def clutch_spring_rating(given: Inputs) -> Results:
    speed = clutch.engagement_after_rating_change_rpm(
        plain(given["engagement_speed"]),
        plain(given["rating_before"]),
        rating_after_rpm=plain(given["rating_after"]),
    )
    return {"engagement_speed": speed}


def compression_spring(given: Inputs) -> Results:
    spring = contra_spring.CompressionSpring(
        wire_mm=mm(given["wire"]),
        mean_coil_mm=mm(given["mean_coil"]),
        active_coils=plain(given["active_coils"]),
        shear_modulus_gpa=plain(given["shear_modulus"]),
    )
    rate = contra_spring.spring_rate_n_per_mm(spring)
    if "free_length" not in given:
        return {"rate": rate}
    free, lost = mm(given["free_length"]), mm(given["free_length_lost"])
    rest, full = mm(given["length_1"]), mm(given["length_2"])
    rest_force = contra_spring.spring_force_n(rate, free, length_mm=rest)
    rest_loss = contra_spring.preload_loss_percent(free, lost, length_mm=rest)
    solid = contra_spring.solid_length_mm(spring)
    assert solid == pytest.approx(plain(given["total_coils"]) * spring.wire_mm)
    return {
        "rate": rate,
        "force_1": rest_force,
        "force_2": contra_spring.spring_force_n(rate, free, length_mm=full),
        "loss_1": rest_loss,
        "loss_2": contra_spring.preload_loss_percent(free, lost, length_mm=full),
        "solid_length": solid,
        "solid_margin": full - solid,
        "coil_bound": contra_spring.is_coil_bound(solid, full),
        "clamp_loss_percent": contra_spring.clamp_loss_percent(
            rest_loss, rest_force, cam_force_n=plain(given["cam_force"])
        ),
    }


def tyre_diameter(code: str) -> float:
    """Diameter of the three tyre codes of the file; reading codes is another room's work."""
    if code == "3.50-10":
        return road_speed.inch_tyre_diameter_mm(3.5, 10.0)
    assert code in {"100/90-10", "100/90-10 56J"}
    return road_speed.metric_tyre_diameter_mm(100.0, 90.0, rim_in=10.0)


def tyre_size(given: Inputs) -> Results:
    diameter = tyre_diameter(given["tyre"])
    factor = plain(given["rolling_factor"]) if "rolling_factor" in given else road_speed.UNLOADED_FACTOR
    return {
        "overall_diameter": diameter,
        "rolling_circumference": road_speed.rolling_circumference_mm(diameter, factor),
    }


def road_speed_of(given: Inputs) -> Results:
    speed = road_speed.road_speed_km_per_h(
        plain(given["engine_speed"]),
        plain(given["ratio"]),
        final_reduction=plain(given["final_reduction"]),
        circumference_mm=road_speed.rolling_circumference_mm(tyre_diameter(given["tyre"])),
    )
    return {"road_speed": speed}


def read_series(given: Inputs) -> list[WearReading]:
    pairs = zip(plain(given["odometer"]), plain(given["reading"]), strict=True)
    return [WearReading(distance, size) for distance, size in pairs]


def projection(answer: WearProjection) -> Results:
    return {
        "rate": answer.rate_mm_per_km,
        "rate_fast": answer.rate_fast_mm_per_km,
        "rate_slow": answer.rate_slow_mm_per_km,
        "level_now": answer.level_now_mm,
        "remaining": answer.remaining_km,
        "low": answer.low_km,
        "high": answer.high_km,
    }


def wear_line(given: Inputs) -> Results:
    return projection(project_line(read_series(given), mm(given["limit"])))


def wear_robust(given: Inputs) -> Results:
    confidence = plain(given["confidence"]) if "confidence" in given else 0.9
    return projection(project_robust(read_series(given), mm(given["limit"]), confidence=confidence))


def wear_one_reading(given: Inputs) -> Results:
    bounds = bound_wear(
        mm(given["new_size"]),
        mm(given["reading"]),
        limit_mm=mm(given["limit"]),
        distance_km=plain(given["distance_since_new"]),
        uncertainty=WearUncertainty(mm(given["new_tolerance"]), mm(given["reading_uncertainty"])),
    )
    return {
        "rate": bounds.rate_mm_per_km,
        "remaining": bounds.remaining_km,
        "low": bounds.low_km,
        "high": bounds.high_km,
    }


CONVERSIONS: dict[tuple[str, str], Callable[[float], float]] = {
    ("in", "mm"): units.convert_inch_to_mm,
    ("lbf*ft", "N*m"): units.convert_lbf_ft_to_nm,
    ("lbf*in", "N*m"): units.convert_lbf_in_to_nm,
    ("kgf*m", "N*m"): units.convert_kgf_m_to_nm,
    ("lbf", "N"): units.convert_lbf_to_n,
    ("psi", "Pa"): lambda pressure: 1000.0 * units.convert_psi_to_kpa(pressure),
    ("kgf*m", "lbf*ft"): lambda torque: units.convert_nm_to_lbf_ft(units.convert_kgf_m_to_nm(torque)),
    ("kgf/cm^2", "kPa"): units.convert_kgf_cm2_to_kpa,
}


def unit_conversion(given: Inputs) -> Results:
    return {"converted": CONVERSIONS[given["from"], given["to"]](float(given["quantity"]))}


ANSWERS: dict[str, Callable[[Inputs], Results]] = {
    "open belt length": open_length,
    "open belt length, short form error": short_form,
    "driven radius from belt length": driven_from_length,
    "radii from ratio": radii_from_ratio,
    "wrap angles": wrap_angles,
    "belt length conventions": length_conventions,
    "radius change from gap or width": wedge_change,
    "top speed after lost gap": top_speed,
    "operating points": operating_points,
    "fit verdict with geometry": verdict_with_geometry,
    "fit verdict from codes": verdict_from_codes,
    "belt code reading": code_reading,
    "flank angle mismatch": flank_mismatch,
    "shift speed scaling": shift_scaling,
    "shift speed balance": shift_balance,
    "roller axial force": roller_force,
    "belt axial force": belt_force,
    "cam axial force": cam_force,
    "roller set imbalance": roller_imbalance,
    "imbalance force": imbalance_force,
    "balanced heavy counts": balanced_counts,
    "balance possible": balance_possible,
    "best slots for heavy rollers": best_slots,
    "best order of weighed rollers": best_order,
    "clutch shoe mass": clutch_mass,
    "clutch torque": clutch_torque,
    "clutch engagement": clutch_engagement,
    "centrifugal force": centrifugal_force,
    "clutch lock speed": clutch_lock,
    "clutch spring change": clutch_spring_change,
    "clutch spring rating": clutch_spring_rating,
    "compression spring": compression_spring,
    "tyre size": tyre_size,
    "road speed": road_speed_of,
    "wear line": wear_line,
    "wear, robust": wear_robust,
    "wear, one reading": wear_one_reading,
    "unit conversion": unit_conversion,
}


def assert_agrees(check: Any, results: Results) -> None:
    for name, wanted in check["expected"].items():
        got, why = results[name], f"{check['id']}, {name}; source: {check['source']}"
        if name == "reasons_include":
            assert set(wanted) <= set(got), why
        elif isinstance(wanted, dict) and wanted["value"] is not None:
            factor = 1000.0 if wanted["unit"] == "m" else 1.0
            bounds = check["tolerance"][name]
            approximation = pytest.approx(
                wanted["value"] * factor, rel=bounds.get("rel", 0.0), abs=bounds.get("abs", 0.0) * factor
            )
            assert got == approximation, why
        else:
            assert got == plain(wanted), why


@pytest.mark.parametrize("check", CHECKS, ids=[check["id"] for check in CHECKS])
def test_check_value_holds_within_its_tolerance(check: Any) -> None:
    answer = ANSWERS[check["kind"]]
    assert check["source"]
    if check["expected"].get("refused"):
        with pytest.raises(BadInput):
            answer(check["inputs"])
        return
    assert_agrees(check, answer(check["inputs"]))


def test_the_file_holds_one_hundred_checks_with_a_source_each() -> None:
    assert len(CHECKS) == 100
    assert len({check["id"] for check in CHECKS}) == 100
    assert all(check["source"] and check["source_kind"] for check in CHECKS)
