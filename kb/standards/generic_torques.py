"""Torque that a plain steel screw of a thread and class would bear, from T = K x d x F.

F is 0.75 of the proof load; K is 0.20 dry as received, 0.15 oiled, 0.12 greased or waxed. Friction alone
varies about threefold between conditions. These are no manual values: they ignore thin nuts, hollow
shafts, aluminium threads, tapers and plastic. They serve only as an upper limit of what is plausible.

Source: computed from ``proof_loads``; the K values are mid values of published bands.
"""

from dataclasses import dataclass
from functools import cache

from kb.standards.package_csv import read_package_rows


@dataclass(frozen=True, slots=True)
class GenericTorque:
    """Generic torques of one thread in one property class, rounded to 0.1 N·m."""

    thread: str
    property_class: str
    preload_n: float
    dry_nm: float
    oiled_nm: float
    greased_nm: float
    source: str


@cache
def list_generic_torques() -> tuple[GenericTorque, ...]:
    """All rows of the table, in the order of the table."""
    return tuple(
        GenericTorque(
            thread=row["thread"],
            property_class=row["property_class"],
            preload_n=float(row["preload_n"]),
            dry_nm=float(row["dry_nm"]),
            oiled_nm=float(row["oiled_nm"]),
            greased_nm=float(row["greased_nm"]),
            source=row["source"],
        )
        for row in read_package_rows("generic_torques.csv")
    )


def find_generic_torque(thread: str, property_class: str) -> GenericTorque | None:
    """Generic torque of a thread, written M8 or M10x1.25, in a property class; None when not in the table.

    Example:
        >>> find_generic_torque("M8", "8.8").dry_nm
        25.5
        >>> find_generic_torque("M8", "7.7") is None
        True
    """
    for row in list_generic_torques():
        if row.thread == thread and row.property_class == property_class:
            return row
    return None
