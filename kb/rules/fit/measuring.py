"""How to measure what is missing: one sentence per quantity.

Source: common practice, no source.
"""

from kb.rules.fit.values import Measurement

_HOW = {
    "length_mm": "Measure the outside length: a tape round the belt lying in a circle, not folded.",
    "length_kind": "Find out which length is stated: outside, pitch or inside; or measure the outside one.",
    "top_width_mm": "Measure the top width of the belt with a caliper, at three places, without squeezing.",
    "angle_deg": "Measure the angle between both flanks with a bevel gauge, or read it off the belt.",
    "thickness_mm": "Measure the thickness of the belt from the top face to the tip of the cogs.",
    "cord_depth_mm": "Measure from the top face of the belt to the middle of the cord at a cut end.",
    "diameter_mm": "Measure the roller's diameter with a caliper, at two places a quarter turn apart.",
    "width_mm": "Measure the width with a caliper.",
    "mass_g": "Weigh all rollers on a scale that shows tenths of a gram and divide by their number.",
    "count": "Count them.",
    "rated_rpm": "Find the rated speed of the springs, or measure the speed at which the clutch engages.",
    "free_length_mm": "Measure the length of the spring standing free on a flat plate.",
    "wire_mm": "Measure the wire's diameter with a caliper.",
    "coil_mm": "Measure the outside diameter of the spring and take off one wire diameter.",
    "active_coils": "Count the coils and take off the two that lie flat at the ends.",
    "installed_length_mm": "Measure the length of the spring as fitted at rest.",
    "shortest_length_mm": "Measure the length left for the spring with the driven pulley fully open.",
    "outer_space_mm": "Measure the inside diameter of the seat that the spring stands in.",
    "inner_space_mm": "Measure the outside diameter of the guide inside the spring.",
    "bore_mm": "Measure the bore with an inside caliper, or the shaft that it sits on.",
    "outside_mm": "Measure the outside diameter with a caliper, or the seat that it sits in.",
    "clearance": "Read the clearance class stamped on the bearing, such as C3; nothing stamped means normal.",
    "form": "Look at the seal lips or shields and compare with the one taken out.",
    "thread": "Measure the thread's diameter with a caliper and its pitch with a pitch gauge.",
    "hand": "Look at which way the thread climbs before applying force: right hand rises to the right.",
    "across_flats_mm": "Measure the width across the flats with a caliper.",
    "part_number": "Read maker and part number from the part or its packing.",
    "position": "Find out where in the machine the part is to sit and ask for that position.",
    "drive": "Measure the pulleys: centre distance, angles, radii and gaps.",
    "fit": "Hold the part against the one taken out, try it in the machine, and record the result.",
}


def build_measurement(quantity: str, *, why: str = "") -> Measurement:
    """The measurement that settles a quantity, with the reason in front where given."""
    how = _HOW.get(quantity, f"Measure the {quantity.replace('_', ' ')}.")
    return Measurement(quantity, f"{why} {how}".strip())
