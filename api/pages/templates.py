"""The template environment of all pages, words for closed lists, and the page for errors."""

from collections.abc import Iterable
from datetime import datetime
from typing import Any
from urllib.parse import quote

from fastapi import Request
from jinja2 import Environment, PackageLoader, StrictUndefined
from starlette.responses import HTMLResponse

from api.problems import Problem
from api.who_asks import find_missing_role, get_held_role
from kb.rules.currency import get_decimals
from kb.rules.said_figures import say_odometer, say_used
from kb.rules.word_list import format_word_list

OUTCOME_WORDS = {
    "fits": "fits",
    "fits_with_change": "fits, with a change",
    "does_not_fit": "does not fit",
    "not_known": "not known",
}
# A sign and a word beside every colour.
OUTCOME_SIGNS = {"fits": "✓", "fits_with_change": "≈", "does_not_fit": "✗", "not_known": "?"}
_UNITS = {
    "deg": "°",
    "lbf_ft": "lbf·ft",
    "nm": "N·m",
    "rpm": "r/min",
    "v": "V",
    "w": "W",
    "ah": "Ah",
    "pct": "%",
    "kmh": "km/h",
}
_UNIT_ENDINGS = ("lbf_ft", "mm", "deg", "nm", "rpm", "kmh", "kg", "pct", "cc", "ah", "in", "g", "v", "w")


def say_words(name: object) -> str:
    """A name of the program as a person writes it: ``drive_belt`` is drive belt."""
    return str(name).replace("_", " ").replace("o ring", "O-ring")


def split_unit(name: str) -> tuple[str, str]:
    """Words and unit of a column name.

    Example:
        >>> split_unit("top_width_mm"), split_unit("torque_min_lbf_ft"), split_unit("count")
        (('top width', 'mm'), ('torque min', 'lbf·ft'), ('count', ''))
    """
    for ending in _UNIT_ENDINGS:
        if name.endswith("_" + ending):
            return say_words(name.removesuffix("_" + ending)), _UNITS.get(ending, ending)
    return say_words(name), ""


def say_number(value: object) -> str:
    """A number without needless decimals; words as they are; nothing known is said so."""
    if value is None or value == "":
        return "not known"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{value:.3f}".rstrip("0").rstrip(".").replace("-", "\N{MINUS SIGN}")
    return say_words(value) if isinstance(value, str) else str(value)


def round_number(value: object) -> object:
    """A number to the hundredth, for tables; anything else as it is."""
    return round(value, 2) if isinstance(value, float) else value


def say_unit(unit: str | None) -> str:
    """The sign of a unit as a person reads it."""
    return _UNITS.get(unit or "", unit or "")


def say_money(price_minor: int | None, currency: str | None) -> str:
    """A price with its currency; empty where none is known.

    Example:
        >>> say_money(1250, "EUR"), say_money(1250, "JPY"), say_money(None, "EUR")
        ('12.50 EUR', '1250 JPY', '')
    """
    decimals = get_decimals(currency or "")
    return (
        "" if price_minor is None else f"{price_minor / 10**decimals:.{decimals}f} {currency or ''}".strip()
    )


def say_moment(moment: str | datetime) -> str:
    """A point in time to the minute.

    Example:
        >>> say_moment("2026-11-25T14:03:09+00:00")
        '2026-11-25 14:03 UTC'
    """
    known = datetime.fromisoformat(moment) if isinstance(moment, str) else moment
    return f"{known:%Y-%m-%d %H:%M} UTC"


def say_grouped(count: int) -> str:
    """A count with its thousands apart.

    Example:
        >>> say_grouped(1234567)
        '1\\u202f234\\u202f567'
    """
    return f"{count:,}".replace(",", "\N{NARROW NO-BREAK SPACE}")


def say_span(seconds: int) -> str:
    """A span of time as one waits for it: never more exact than it is known.

    Example:
        >>> say_span(3), say_span(42), say_span(200)
        ('5 s', '45 s', '4 min')
    """
    return f"{-(-seconds // 60)} min" if seconds > 90 else f"{max(-(-seconds // 5), 1) * 5} s"


def list_cited(sources: Iterable[object]) -> list[str]:
    """Texts of sources, each once, in the order in which they are cited; what has no source is left out."""
    texts = (
        source if isinstance(source, str) else getattr(source, "as_text", str)()
        for source in sources
        if source
    )
    return list(dict.fromkeys(texts))


def mark_cited(place: int) -> str:
    """The mark of the source at a place of a list.

    Example:
        >>> mark_cited(0), mark_cited(25), mark_cited(26)
        ('a', 'z', 'a2')
    """
    letter = "abcdefghijklmnopqrstuvwxyz"[place % 26]
    return letter if place < 26 else f"{letter}{place // 26 + 1}"


def quote_whole(text: object) -> str:
    """A text within an address: its slashes are quoted too, so that it stays one word of the path.

    Example:
        >>> quote_whole("a/b c")
        'a%2Fb%20c'
    """
    return quote(str(text), safe="")


_environment = Environment(
    loader=PackageLoader("api", "templates"),
    autoescape=True,
    undefined=StrictUndefined,
    trim_blocks=True,
    lstrip_blocks=True,
)
_environment.filters.update(
    urlencode=quote_whole,
    words=say_words,
    number=say_number,
    split_unit=split_unit,
    rounded=round_number,
    unit_sign=say_unit,
    moment=say_moment,
    grouped=say_grouped,
    odometer=say_odometer,
    used=say_used,
    span=say_span,
    cited=list_cited,
    cited_mark=mark_cited,
    word_list=format_word_list,
)
_environment.globals.update(say_money=say_money, outcome_words=OUTCOME_WORDS, outcome_signs=OUTCOME_SIGNS)
# A page shows no form that its reader may not send.
_environment.globals.update(missing_role=find_missing_role, held_role=get_held_role)
_posting = _environment.get_template("posting.html").module
_environment.globals.update(post_form=_posting.post_form, may_not=_posting.may_not)


def render(name: str, *, status: int = 200, **values: Any) -> HTMLResponse:
    """A page."""
    return HTMLResponse(_environment.get_template(name).render(**values), status)


def render_problem(request: Request, problem: Problem) -> HTMLResponse:
    """The page for an error that no page of its own explains."""
    return render("problem.html", status=problem.code, problem=problem, request_id=request.state.request_id)
