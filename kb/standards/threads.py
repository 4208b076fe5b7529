"""Metric threads with their listed pitches and stress areas.

Issued as ISO 261 (which pitches belong to which diameter) and ISO 898-1 (stress areas). A table row
does not tell the hand of a thread nor which of the pitches a certain nut has.

Source: each row carries its own; that a fine pitch is listed in ISO 261 is from memory.
"""

from dataclasses import dataclass
from functools import cache

from kb.standards.package_csv import read_package_rows

_TOLERANCE_MM = 0.005


@dataclass(frozen=True, slots=True)
class MetricThread:
    """One listed thread: diameter and pitch with the sizes that follow from them."""

    designation: str
    d_mm: float
    pitch_mm: float
    series: str
    pitch_diameter_mm: float
    minor_internal_mm: float
    minor_external_mm: float
    stress_area_mm2: float
    is_in_load_tables: bool
    source: str


def _thread_of_row(row: dict[str, str]) -> MetricThread:
    return MetricThread(
        designation=row["designation"],
        d_mm=float(row["d_mm"]),
        pitch_mm=float(row["pitch_mm"]),
        series=row["series"],
        pitch_diameter_mm=float(row["d2_pitch_mm"]),
        minor_internal_mm=float(row["d1_minor_internal_mm"]),
        minor_external_mm=float(row["d3_minor_external_mm"]),
        stress_area_mm2=float(row["As_exact_mm2"]),
        is_in_load_tables=row["in_ISO_898-1_load_tables"] == "yes",
        source=row["source"],
    )


@cache
def list_metric_threads() -> tuple[MetricThread, ...]:
    """All listed threads, by diameter, the coarse pitch of a diameter first."""
    return tuple(_thread_of_row(row) for row in read_package_rows("metric_threads.csv"))


def list_threads_of_diameter(d_mm: float) -> tuple[MetricThread, ...]:
    """Listed threads of one nominal diameter [mm]; empty when the diameter is not listed."""
    return tuple(t for t in list_metric_threads() if abs(t.d_mm - d_mm) < _TOLERANCE_MM)


def find_metric_thread(d_mm: float, pitch_mm: float) -> MetricThread | None:
    """The listed thread of a diameter and a pitch [mm], or None.

    Example:
        >>> find_metric_thread(10, 1.25).stress_area_mm2
        61.2
        >>> find_metric_thread(12, 1.6) is None
        True
    """
    for thread in list_threads_of_diameter(d_mm):
        if abs(thread.pitch_mm - pitch_mm) < _TOLERANCE_MM:
            return thread
    return None


def find_coarse_pitch_mm(d_mm: float) -> float | None:
    """The coarse pitch [mm] of a nominal diameter [mm], or None where the table lists none.

    Example:
        >>> find_coarse_pitch_mm(8)
        1.25
        >>> find_coarse_pitch_mm(28) is None
        True
    """
    for thread in list_threads_of_diameter(d_mm):
        if thread.series == "coarse":
            return thread.pitch_mm
    return None
