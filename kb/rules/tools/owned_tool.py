"""A tool of the shop, and whether its size is a metric or an inch one.

An inch socket is stored like any other, with its size in millimetres: 38.1 is 1-1/2 in. A size of the
metric series is metric even when an inch size lies as near (27 mm and 1-1/16 in are 0.013 mm apart).
"""

from dataclasses import dataclass

from kb.standards.inch_hexes import InchHex, find_inch_hex
from kb.standards.wrench_openings import find_wrench_opening
from kb.terms import ToolKind


@dataclass(frozen=True, slots=True)
class OwnedTool:
    """Row of the shop's list of tools; ``owned`` is False for a tool that is only listed.

    Sizes [mm] and torques [N·m] are None where they do not apply or are not known. The nominal value of a
    torque-limiting bar stands in both torques.
    """

    tool: str
    kind: ToolKind
    size_mm: float | None = None
    min_nm: float | None = None
    max_nm: float | None = None
    owned: bool = True
    note: str | None = None


def find_inch_size(size_mm: float) -> InchHex | None:
    """Inch size that a stored size means, None for a metric or an odd size.

    Args:
        size_mm: size as stored [mm].

    Source: common practice, no source, for storing inch tools in mm; the table for the sizes.

    Example:
        >>> find_inch_size(38.1).size
        '1-1/2'
        >>> find_inch_size(27.0) is None, find_inch_size(26.99).size
        (True, '1-1/16')
    """
    if find_wrench_opening(size_mm) is not None:
        return None
    return find_inch_hex(size_mm)


def format_tool_size(size_mm: float) -> str:
    """Size as a mechanic says it: inches for an inch size, else millimetres.

    Example:
        >>> format_tool_size(38.1), format_tool_size(38.0), format_tool_size(5.5)
        ('1-1/2 in (38.1 mm)', '38 mm', '5.5 mm')
    """
    inch = find_inch_size(size_mm)
    if inch is None:
        return f"{size_mm:g} mm"
    return f"{inch.size} in ({inch.size_mm:.4g} mm)"
