"""Numbers in sentences: no more figures than a calliper, a scale or an odometer stands behind.

A person who reads "11.47 %" takes it for measured. Answers keep their numbers unrounded beside the sentence;
here is only how they are said. It tells nothing about how large the doubt is: that is the interval's.

Source: published: JCGM 100:2008 (GUM), 7.2.6 (it usually suffices to quote at most two significant digits);
a space between thousands, none in numbers of four digits: published: SI brochure, 9th edition, 5.4.4;
whole per cent and tenths of a millimetre: judgement of this project.
"""

from math import floor, log10

NO_BREAK_SPACE = "\N{NO-BREAK SPACE}"
_WHOLE_FROM_MM = 3.0
_ROUNDING = 1e-9


def say_grouped(number: float) -> str:
    """A whole number with its thousands apart, from five digits on.

    Example:
        >>> say_grouped(5250), say_grouped(79122).split()
        ('5250', ['79', '122'])
    """
    said = f"{number:.0f}"
    return said if len(said.lstrip("-")) <= 4 else f"{number:,.0f}".replace(",", NO_BREAK_SPACE)


def say_figures(value: float, *, figures: int = 2) -> str:
    """A number with so many figures, the nearest; "0" at 0 and below.

    Example:
        >>> say_figures(418), say_figures(3312), say_figures(8.13), say_figures(0.046)
        ('420', '3300', '8.1', '0.046')
    """
    step = _find_step(value, figures)
    return "0" if step is None else _say_steps(round(value / step), step)


def say_at_least(value: float, *, figures: int = 2) -> str:
    """As ``say_figures``, but never more than the number itself.

    Example:
        >>> say_at_least(2979), say_at_least(2900), say_at_least(0)
        ('2900', '2900', '0')
    """
    step = _find_step(value, figures)
    return "0" if step is None else _say_steps(floor(value / step + _ROUNDING), step)


def say_odometer(distance_km: float) -> str:
    """An odometer to stop at, never past it: to the ten kilometres.

    Example:
        >>> say_odometer(5258.3), say_odometer(43017).split()
        ('5250', ['43', '010'])
    """
    return say_grouped(10.0 * floor(distance_km / 10.0 + _ROUNDING))


def say_percent(change_percent: float) -> str:
    """The size of a change in whole per cent, with "about".

    Example:
        >>> say_percent(-11.5), say_percent(0.4)
        ('about 12 %', 'less than 1 %')
    """
    size = abs(change_percent)
    return "less than 1 %" if size < 1.0 else f"about {floor(size + 0.5)} %"


def say_printed_change(change_percent: float) -> str:
    """The size of a change that follows from printed sizes: a tenth below 10 %, where limits lie.

    Example:
        >>> say_printed_change(-3.14), say_printed_change(-46.4)
        ('3.1 %', '46 %')
    """
    size = abs(change_percent)
    return f"{size:.1f} %" if size < 9.95 else f"{size:.0f} %"


def say_used(used_percent: float) -> str:
    """A share of a wear allowance in whole per cent, on the right side of 80 and 100.

    Example:
        >>> [say_used(share) for share in (73.3, 79.8, 80.0, 99.7, 100.2, 300)]
        ['73 %', 'just under 80 %', '80 %', 'just under 100 %', 'just over 100 %', '300 %']
    """
    for bound in (80, 100):
        if bound - 0.5 <= used_percent < bound:
            return f"just under {bound} %"
    if 100 < used_percent < 100.5:
        return "just over 100 %"
    return f"{floor(used_percent + 0.5)} %"


def say_mm(size_mm: float) -> str:
    """A length that follows from a measured one: to the tenth, from 3 mm on to the whole millimetre.

    Example:
        >>> say_mm(2.05), say_mm(8.13), say_mm(0.02)
        ('about 2.1 mm', 'about 8 mm', 'less than 0.1 mm')
    """
    if size_mm < 0.05:
        return "less than 0.1 mm"
    tenths = floor(size_mm * 10.0 + 0.5) / 10.0
    return f"about {tenths:g} mm" if tenths < _WHOLE_FROM_MM else f"about {floor(size_mm + 0.5)} mm"


def say_up_to(said: str) -> str:
    """A size that is the most that may come.

    Example:
        >>> say_up_to(say_percent(-11.5)), say_up_to(say_percent(0.4))
        ('up to about 12 %', 'less than 1 %')
    """
    return said if said.startswith("less than") else f"up to {said}"


def _find_step(value: float, figures: int) -> float | None:
    """The unit of the last figure that is said; None where there is nothing to say."""
    return 10.0 ** (floor(log10(value)) - figures + 1) if value > 0 else None


def _say_steps(count: int, step: float) -> str:
    return say_grouped(count * step) if step >= 1.0 else f"{count * step:g}"
