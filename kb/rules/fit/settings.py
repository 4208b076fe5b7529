"""Every limit of the fit rules, with its default. Each answer shows the limit that it used.

The defaults are judgement of this project (the belt limits stand in ``kb.mechanics``): about the size of
ordinary rounding in codes and of a good caliper reading. A shop may set its own.
"""

from dataclasses import dataclass, field

from kb.mechanics.belt_code_comparison import CodeLimits
from kb.mechanics.belt_geometry_comparison import GeometryLimits


@dataclass(frozen=True, slots=True)
class FitLimits:
    """Limits of the fit rules.

    Attributes:
        roller_size_mm: largest difference of roller diameter and width that is still the same [mm].
        roller_mass_percent: difference of roller mass up to which nothing changes [%].
        spring_speed_percent: difference of rated speed up to which nothing changes [%].
        contra_preload_percent: difference of preload up to which nothing changes [%].
        envelope_mm: largest difference of bore, outside and width of bearings and seals [mm].
        o_ring_section_mm: largest difference of an o-ring's section [mm].
        thread_mm: largest difference of thread diameter and pitch [mm].
        across_flats_mm: largest difference of a width across flats that takes the same socket [mm].
        default_cord_depth_mm: depth of the cord where neither belt nor drive states it [mm].
    """

    belt_code: CodeLimits = field(default_factory=CodeLimits)
    belt_geometry: GeometryLimits = field(default_factory=GeometryLimits)
    roller_size_mm: float = 0.15
    roller_mass_percent: float = 2.0
    spring_speed_percent: float = 3.0
    contra_preload_percent: float = 5.0
    envelope_mm: float = 0.05
    o_ring_section_mm: float = 0.1
    thread_mm: float = 0.01
    across_flats_mm: float = 0.2
    default_cord_depth_mm: float = 2.0


# Two decimal numbers that differ by exactly a limit must not fail by the last bit.
SLACK = 1e-9
