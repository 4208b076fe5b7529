"""The four classes of a size comparison. They speak of size only, never of compound or load rating."""

from enum import StrEnum


class FitClass(StrEnum):
    """How one belt stands in for another."""

    SAME_SIZE = "same_size"
    USABLE = "usable"
    DOES_NOT_FIT = "does_not_fit"
    CANNOT_TELL = "cannot_tell"
