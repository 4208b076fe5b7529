"""A torque as it was printed: a single value, a range, or both. Nothing is invented.

One printed value stays one value: no band is made up around it. A printed range has no nominal value; the
midpoint may be suggested as a setting, marked as computed.
"""

import math
from dataclasses import dataclass

from kb.errors import BadInput

SAME_TORQUE_NM = 1e-6  # a computed limit may miss the written one by rounding


@dataclass(frozen=True, slots=True)
class TorqueBand:
    """Printed torque [N·m]; None for what the source does not print.

    Raises:
        BadInput: a value is not above zero, or the values are not in rising order.

    Example:
        >>> TorqueBand(min_nm=36.0, max_nm=44.0).setting_nm
        40.0
        >>> TorqueBand(nominal_nm=40.0).lowest_nm, TorqueBand().setting_nm
        (40.0, None)
    """

    min_nm: float | None = None
    nominal_nm: float | None = None
    max_nm: float | None = None

    def __post_init__(self) -> None:
        known = [value for value in (self.min_nm, self.nominal_nm, self.max_nm) if value is not None]
        for value in known:
            if not (math.isfinite(value) and value > 0):
                raise BadInput(f"Torque '{value:g}' N·m is not a torque; write a value above zero.")
        if known != sorted(known):
            written = ", ".join(f"'{value:g}'" for value in known)
            raise BadInput(
                f"Torques {written} N·m are not in rising order; "
                "write smallest, nominal and largest in that order, or leave a value out."
            )

    @property
    def is_known(self) -> bool:
        """Whether there is anything to set a wrench to: a nominal value or both ends of a range."""
        return self.setting_nm is not None

    @property
    def lowest_nm(self) -> float | None:
        """Smallest torque that still counts as right, as far as it is printed."""
        return self.min_nm if self.min_nm is not None else self.nominal_nm

    @property
    def highest_nm(self) -> float | None:
        """Largest torque that still counts as right, as far as it is printed."""
        return self.max_nm if self.max_nm is not None else self.nominal_nm

    @property
    def is_setting_computed(self) -> bool:
        """Whether the setting is the midpoint of a range and not a printed value."""
        return self.nominal_nm is None and self.setting_nm is not None

    @property
    def setting_nm(self) -> float | None:
        """Torque to set: the nominal value, else the midpoint of the range, None when neither is known."""
        if self.nominal_nm is not None:
            return self.nominal_nm
        if self.min_nm is None or self.max_nm is None:
            return None
        return (self.min_nm + self.max_nm) / 2
