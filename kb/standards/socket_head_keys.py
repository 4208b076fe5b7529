"""Hexagon keys of socket screws: cap, button, countersunk head and set screws.

Source: per row: published JIS B 1176 table for cap screws (the screw of ISO 4762); the others from memory
or from a parts package, as the row says.
"""

from dataclasses import dataclass
from functools import cache

from kb.standards.package_csv import read_optional_number, read_package_rows


@dataclass(frozen=True, slots=True)
class SocketHeadKey:
    """Key of one thread and head; the limits of the socket are None where they are not known."""

    thread: str
    standard: str
    head: str
    key_mm: float
    socket_smallest_mm: float | None
    socket_largest_mm: float | None
    source: str


@cache
def list_socket_head_keys() -> tuple[SocketHeadKey, ...]:
    """All rows of the table, in the order of the table."""
    return tuple(
        SocketHeadKey(
            thread=row["thread"],
            standard=row["standard"],
            head=row["head"],
            key_mm=float(row["key_mm"]),
            socket_smallest_mm=read_optional_number(row["socket_smallest_mm"]),
            socket_largest_mm=read_optional_number(row["socket_largest_mm"]),
            source=row["source"],
        )
        for row in read_package_rows("socket_head_keys.csv")
    )


def find_socket_head_keys(thread: str) -> tuple[SocketHeadKey, ...]:
    """Keys of all heads that the thread is made with, empty when the table has none.

    Example:
        >>> [(key.head, key.key_mm) for key in find_socket_head_keys("M6")][:2]
        [('socket head cap', 5.0), ('button head', 4.0)]
    """
    return tuple(key for key in list_socket_head_keys() if key.thread == thread)
