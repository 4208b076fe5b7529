"""Marks of places in a list: ``after`` as a page hands it out, opaque, and refused when it was made up."""

import base64
import binascii
from collections.abc import Sequence
from datetime import date
from typing import Annotated

from fastapi import Depends, Request, Response

from kb.errors import BadInput

LONGEST_MARK = 2_500  # names of two hundred letters, as a mark writes them
_PARTED = "\t"
_LONGEST_ROW = 15  # digits of a row's number; more does not fit a database


def seal_mark(code: str) -> str:
    """The opaque mark of a place in a list.

    Example:
        >>> open_mark(seal_mark("plover-50-s"))
        'plover-50-s'
    """
    return base64.urlsafe_b64encode(code.encode()).decode().rstrip("=")


def open_mark(mark: str | None) -> str:
    """The place in a list that a mark stands for; the beginning without one.

    Raises:
        BadInput: the mark was not given out by this service.
    """
    if not mark:
        return ""
    try:
        code = base64.b64decode(mark + "=" * (-len(mark) % 4), altchars=b"-_", validate=True).decode()
    except (binascii.Error, ValueError) as error:
        raise _refuse(mark) from error
    if seal_mark(code) != mark or "\x00" in code:
        raise _refuse(mark)
    return code


def open_row_mark(mark: str | None) -> int | None:
    """The row behind which a list in order of its rows goes on; None without a mark.

    Raises:
        BadInput: the mark was not given out by this service.
    """
    if not mark:
        return None
    if not (mark.isascii() and mark.isdigit() and len(mark) <= _LONGEST_ROW):
        raise _refuse(mark)
    return int(mark)


def seal_day_mark(day: date, name: str) -> str:
    """The mark of a line of a list by days: its day and its name."""
    return seal_mark(f"{day.isoformat()}{_PARTED}{name}")


def open_day_mark(mark: str | None) -> tuple[date, str] | None:
    """The day and the name behind which a list by days goes on; None without a mark.

    Example:
        >>> open_day_mark(seal_day_mark(date(2026, 1, 31), "counter"))
        (datetime.date(2026, 1, 31), 'counter')

    Raises:
        BadInput: the mark was not given out by this service.
    """
    if not mark:
        return None
    day, parted, name = open_mark(mark).partition(_PARTED)
    try:
        found = date.fromisoformat(day)
    except ValueError as error:
        raise _refuse(mark) from error
    if not parted:
        raise _refuse(mark)
    return found, name


def seal_line_mark(place: int, name: tuple[str, str]) -> str:
    """The mark of a line of a list that is made anew for each page: its place from 1 on, and its name."""
    return seal_mark(_PARTED.join((str(place), *name)))


def find_line_place(mark: str | None, names: Sequence[tuple[str, str]]) -> int:
    """How many lines of the list as it stands now were shown up to the mark; 0 without one.

    A line that has left the list meanwhile is not missed: the list goes on where it stood.

    Example:
        >>> mark = seal_line_mark(1, ("Brackenloop", "LP-1"))
        >>> find_line_place(mark, [("Kestrow", "7"), ("Brackenloop", "LP-1"), ("Kestrow", "8")])
        2
        >>> find_line_place(mark, [("Kestrow", "7"), ("Kestrow", "8")])
        0

    Raises:
        BadInput: the mark was not given out by this service.
    """
    if not mark:
        return 0
    place, _, rest = open_mark(mark).partition(_PARTED)
    maker, _, number = rest.partition(_PARTED)
    if not (place.isascii() and place.isdigit() and len(place) <= _LONGEST_ROW and number):
        raise _refuse(mark)
    name = (maker, number)
    return names.index(name) + 1 if name in names else max(int(place) - 1, 0)


class NextPage:
    """The header ``Link`` (RFC 8288) of a list that goes on."""

    def __init__(self, request: Request, response: Response) -> None:
        self._url = request.url
        self._response = response

    def link(self, mark: str | None) -> None:
        """Name the next page, where there is one."""
        if mark is not None:
            following = self._url.include_query_params(after=mark)
            self._response.headers["Link"] = f'<{following.path}?{following.query}>; rel="next"'


Following = Annotated[NextPage, Depends()]


def _refuse(mark: str) -> BadInput:
    message = (
        f"Mark '{mark[:60]}' in 'after' was not given out by this service; take it from the page before."
    )
    return BadInput(message, field="after")
