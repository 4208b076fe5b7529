"""Codes of a note that no notation of a part reads: part numbers, bulbs and batteries, frame numbers; prices.

A part number is only said to look like one: whether there is such a part is asked of the look-up.
"""

import re
from typing import Any

from kb.rules.match.part_number import MAX_KEY, count_digits, format_key, is_number_question

PART_NUMBER = "part_number"
BULB = "bulb"
BATTERY = "battery"
FRAME_NUMBER = "frame_number"

_MIN_NUMBER_KEY = 7
_MIN_MIXED_KEY = 6
_MIN_PREFIXED_DIGITS = 4
_DATE = re.compile(r"[0-9]{1,2}[./-][0-9]{1,2}[./-][0-9]{4}|[0-9]{4}-[0-9]{2}-[0-9]{2}")
_ELECTRIC = re.compile(
    r"([0-9]{1,2}) ?v(?:olts?)?[ /,-]*([0-9]{1,3}(?:[.,][0-9])?(?:/[0-9]{1,3})?) ?(w(?:atts?)?|ah)",
    re.IGNORECASE,
)
_FRAME = re.compile(r"(?=[A-Z0-9]*[A-Z])[A-HJ-NPR-Z0-9]{17}")
_PREFIX = re.compile(r"[A-Z]{1,3}")
_THOUSANDS = re.compile(r"[0-9]{1,3},[0-9]{3}")
_LONG_NUMBER = re.compile(r"[0-9]{5,}")
_OTHER_UNITS_TEXT = """
    km kms kilometres kilometers miles mi mph km/h kmh eur euro euros usd gbp chf inr idr zar aud dollars
    pounds € $ £ % pm am o'clock hours hrs h hour days day weeks years year yrs kw hp ps min minutes
"""
_MONEY_TEXT = "price paid pay cost costs eur euro usd gbp chf inr zar aud € $ £ phone tel ph mobile"
_OTHER_UNITS = frozenset(_OTHER_UNITS_TEXT.split())
_MONEY = frozenset(_MONEY_TEXT.split())


def is_date(text: str) -> bool:
    """Whether the text is a date of this century or the last: no size of a part ends in such a number.

    Example:
        >>> is_date("12.11.2026"), is_date("743-20-30")
        (True, False)
    """
    return bool(_DATE.fullmatch(text)) and max(map(int, re.split(r"[./-]", text))) >= 1950


def is_no_code(text: str, before: str, after: str) -> bool:
    """Whether figures are distance, money, time or a telephone number, by the words beside them.

    Example:
        >>> is_no_code("12,500", "at", "km"), is_no_code("32,32", "price", "")
        (True, True)
        >>> is_no_code("16x13", "rollers", "")
        False
    """
    return after.lower() in _OTHER_UNITS or before.lower() in _MONEY or bool(_THOUSANDS.fullmatch(text))


def is_too_long_for_sizes(text: str) -> bool:
    """Whether a stretch holds a number that no size is written with ("0171-5551234")."""
    return bool(_LONG_NUMBER.search(text))


def read_part_number(text: str) -> dict[str, Any] | None:
    """Reading of what looks like a part number or a frame number, or None.

    A frame number has 17 letters and figures without I, O and Q.

    Source: ISO 3779, from memory; the rest is judgement of this project.

    Example:
        >>> read_part_number("N.62.855"), read_part_number("7.5")
        ({'ok': True, 'kind': 'part_number', 'key': 'N62855'}, None)
    """
    if is_date(text):
        return None
    if _FRAME.fullmatch(text):
        return {"ok": True, "kind": FRAME_NUMBER, "frame_number": text}
    key = format_key(text)
    is_mixed = any(map(str.isalpha, key)) and count_digits(key) >= _MIN_PREFIXED_DIGITS
    least = _MIN_MIXED_KEY if is_mixed else _MIN_NUMBER_KEY
    if least <= len(key) <= MAX_KEY and is_number_question(key):
        return {"ok": True, "kind": PART_NUMBER, "key": key}
    return None


def is_number_prefix(text: str, following: str) -> bool:
    """Whether capitals and the figures behind them may be one part number written with a blank.

    Example:
        >>> is_number_prefix("TW", "2009.8"), is_number_prefix("to", "2009")
        (True, False)
    """
    if not _PREFIX.fullmatch(text) or text.lower() in _MONEY | _OTHER_UNITS:
        return False
    return sum(map(str.isdigit, following)) >= _MIN_PREFIXED_DIGITS and not is_date(following)


def read_electric(text: str) -> dict[str, Any] | None:
    """Reading of voltage with power (a bulb) or with capacity (a battery), or None.

    Source: common practice, no source.

    Example:
        >>> read_electric("12V 35/35W"), read_electric("12V 5Ah")["capacity_ah"]
        ({'ok': True, 'kind': 'bulb', 'voltage_v': 12, 'power_w': '35/35'}, 5)
    """
    found = _ELECTRIC.fullmatch(text)
    if found is None:
        return None
    voltage, text, unit = found.groups()
    text = text.replace(",", ".")
    value = text if "/" in text else float(text) if "." in text else int(text)
    if unit.lower() == "ah":
        return {"ok": True, "kind": BATTERY, "voltage_v": int(voltage), "capacity_ah": value}
    return {"ok": True, "kind": BULB, "voltage_v": int(voltage), "power_w": value}
