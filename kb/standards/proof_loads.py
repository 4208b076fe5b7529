"""Proof load and smallest breaking load of steel screws by thread and property class.

The first figure of the class times 100 is the nominal tensile strength in MPa, the two figures multiplied
and times 10 the nominal yield. The loads hold for a steel screw of full section; they say nothing of thin
nuts, hollow shafts or threads in aluminium.

Source: printed stress areas of ISO 898-1 (published) times proof stresses of ISO 898-1 (from memory);
19 loads were compared with a published table, worst difference 0.5 %, and keep the published figure.
"""

from dataclasses import dataclass
from functools import cache

from kb.standards.package_csv import read_optional_number, read_package_rows

SAME_THREAD_MM = 0.001


@dataclass(frozen=True, slots=True)
class ProofLoad:
    """Strength of one thread in one property class."""

    thread: str
    diameter_mm: float
    pitch_mm: float
    stress_area_mm2: float
    property_class: str
    proof_stress_mpa: float
    proof_load_n: float
    tensile_strength_mpa: float
    tensile_load_n: float
    published_proof_load_n: float | None
    source: str


@cache
def list_proof_loads() -> tuple[ProofLoad, ...]:
    """All rows of the table, in the order of the table."""
    return tuple(
        ProofLoad(
            thread=row["thread"],
            diameter_mm=float(row["diameter_mm"]),
            pitch_mm=float(row["pitch_mm"]),
            stress_area_mm2=float(row["stress_area_mm2"]),
            property_class=row["property_class"],
            proof_stress_mpa=float(row["proof_stress_mpa"]),
            proof_load_n=float(row["proof_load_n"]),
            tensile_strength_mpa=float(row["tensile_strength_mpa"]),
            tensile_load_n=float(row["tensile_load_n"]),
            published_proof_load_n=read_optional_number(row["published_proof_load_n"]),
            source=row["source"],
        )
        for row in read_package_rows("proof_loads.csv")
    )


def find_proof_load(diameter_mm: float, pitch_mm: float, *, property_class: str) -> ProofLoad | None:
    """Strength of a thread in a property class, None when the table lacks the thread or the class.

    Args:
        diameter_mm: nominal diameter [mm].
        pitch_mm: pitch [mm].
        property_class: as stamped on the head, for example "8.8".

    Example:
        >>> find_proof_load(8.0, 1.25, property_class="8.8").proof_load_n
        21228.0
        >>> find_proof_load(8.0, 1.2, property_class="8.8") is None
        True
    """
    for row in list_proof_loads():
        if (
            row.property_class == property_class
            and abs(row.diameter_mm - diameter_mm) < SAME_THREAD_MM
            and abs(row.pitch_mm - pitch_mm) < SAME_THREAD_MM
        ):
            return row
    return None
