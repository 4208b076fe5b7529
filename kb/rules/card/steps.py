"""Steps of a job with their cautions, and behind them the figures that they belong to.

Cautions come from the position, from the words of the step and its tool, and from the torque. They are data,
so that no page and no print can show a figure without them. A caution of the job sheet that says something of
its own becomes one of that list too.

Source: judgement of this project; wording of the cautions as ``kb.rules.tools.cautions``.
"""

import re
from collections.abc import Sequence

from kb.rules.card.values import CardFastener, CardFigure, CardStep, JobStep
from kb.rules.tools.cautions import (
    BELT_UNDER_NUT,
    COMPRESSED_SPRING,
    GREASE_ON_FACES,
    HELD_BY_FINS,
    HOOKED_SPRINGS,
    HOT_PARTS,
    IMPACT_TOOL,
    LIMITING_BAR,
    LINING_DUST,
    LOCKING_COMPOUND,
    RECHECK_ONCE,
    RUNNING_UNCOVERED,
    SOLVENT,
    SUPPORT_AND_IGNITION,
    TORQUE_FOLLOWS_MANUAL,
    TORQUE_NOT_KNOWN,
    TORQUE_NOT_VERIFIED,
    VERIFIED_SOURCES,
    Caution,
    Signal,
    cautions_for_position,
    rank_cautions,
)
from kb.rules.tools.torque_band import TorqueBand
from kb.rules.tools.torque_wrench import format_band
from kb.units import convert_nm_to_kgf_m, convert_nm_to_lbf_ft

_UNDO = re.compile(r"\b(?:undo|undone|loosen|take out|slacken|unscrew)\b", re.I)
_TIGHTEN = re.compile(r"\b(?:tighten|tightened|torque|refit|screw (?:in|on))\b", re.I)
_ONLY_WHEN_TIGHTENING = (
    BELT_UNDER_NUT,
    RECHECK_ONCE,
    LIMITING_BAR,
    LOCKING_COMPOUND,
    TORQUE_FOLLOWS_MANUAL,
    TORQUE_NOT_KNOWN,
    TORQUE_NOT_VERIFIED,
)
# What the words of a step, its tool, consumable or caution point at.
_CAUTIONS_OF_WORDS: tuple[tuple[re.Pattern[str], Caution], ...] = (
    (re.compile(r"plug lead|plug cap|key out|ignition|main stand", re.I), SUPPORT_AND_IGNITION),
    (re.compile(r"\bdust\b|compressed air|dry brush", re.I), LINING_DUST),
    (re.compile(r"contra spring|spring compressor|spring (?:has )?relax", re.I), COMPRESSED_SPRING),
    (re.compile(r"hook(?:ing|s)?\b.*spring|spring hook|clutch springs?\b", re.I), HOOKED_SPRINGS),
    (re.compile(r"\bimpact\b", re.I), IMPACT_TOOL),
    (re.compile(r"\bcleaner\b|solvent|degreaser|petrol", re.I), SOLVENT),
    (
        re.compile(r"cover off|without (?:the|its) cover|\brun\b.*\bstand\b|engine running", re.I),
        RUNNING_UNCOVERED,
    ),
    (re.compile(r"\bhot\b|let .* cool", re.I), HOT_PARTS),
    (re.compile(r"torque stick|limiting bar|extension only limits", re.I), LIMITING_BAR),
    (re.compile(r"\bfan blades?\b|\bfins?\b", re.I), HELD_BY_FINS),
    (re.compile(r"\bgrease\b", re.I), GREASE_ON_FACES),
    (re.compile(r"belt is pinched|torque reading", re.I), BELT_UNDER_NUT),
)
_OWN_BASIS = "job sheet of the shop"


def build_steps(steps: Sequence[JobStep], fasteners: Sequence[CardFastener]) -> tuple[CardStep, ...]:
    """Steps in their order, each with its cautions, the gravest first, and its torques."""
    return tuple(_build(step, fasteners) for step in sorted(steps, key=lambda item: item.step))


def _build(step: JobStep, fasteners: Sequence[CardFastener]) -> CardStep:
    here = [item for item in fasteners if item.stated.position is step.position]
    tightens = is_tightening(step)
    cautions: list[Caution] = [*_find_word_cautions(step)]
    if step.position is not None:
        cautions.extend(cautions_for_position(step.position))
    for item in here:
        cautions.extend(item.cautions)
    if here and not tightens:
        cautions = [item for item in cautions if item not in _ONLY_WHEN_TIGHTENING]
    figures = tuple(_build_figure(item) for item in here) if tightens else ()
    return CardStep(step, rank_cautions(cautions), figures)


def is_tightening(step: JobStep) -> bool:
    """Whether a fastener is tightened in a step: not when its words only tell to undo it.

    Example:
        >>> is_tightening(JobStep(1, "Undo the crank nut.", fastener=True))
        False
        >>> is_tightening(JobStep(2, "Refit the airbox and its screws.", fastener=True))
        True
    """
    return bool(_TIGHTEN.search(step.text)) or not _UNDO.search(step.text)


def _find_word_cautions(step: JobStep) -> list[Caution]:
    words = " ".join(filter(None, (step.text, step.tool, step.consumable, step.caution)))
    found = [caution for pattern, caution in _CAUTIONS_OF_WORDS if pattern.search(words)]
    if step.caution and not any(pattern.search(step.caution) for pattern, _ in _CAUTIONS_OF_WORDS):
        found.append(
            Caution(
                Signal.CAUTION,
                step.caution,
                "The job sheet of the shop warns of it.",
                "Do as it says before going on.",
                _OWN_BASIS,
            )
        )
    return found


def _build_figure(item: CardFastener) -> CardFigure:
    row = item.stated
    return CardFigure(
        position=row.position,
        text=format_torque(row.torque),
        source=row.source,
        is_verified=row.torque.is_known and row.source.kind in VERIFIED_SOURCES,
        differs=any(name.startswith("torque") for name in item.differs),
    )


def format_torque(band: TorqueBand) -> str:
    """A torque as stored, with the other units of the trade beside it.

    Example:
        >>> format_torque(TorqueBand(35.0, 38.0, 41.0))
        '38 N·m (28.0 lbf·ft, 3.87 kgf·m), 35 to 41 N·m'
        >>> format_torque(TorqueBand(8.0, None, 12.0))
        '8 to 12 N·m (5.9 to 8.9 lbf·ft, 0.82 to 1.22 kgf·m)'
    """
    low, high = band.lowest_nm, band.highest_nm
    if low is None or high is None:
        return "torque not known: look it up in the maker's manual"
    if band.nominal_nm is None:
        return f"{format_band(band)} ({_convert(low, high)})"
    single = f"{band.nominal_nm:g} N·m ({_convert(band.nominal_nm, band.nominal_nm)})"
    return single if low == high else f"{single}, {format_band(band)}"


def _convert(low_nm: float, high_nm: float) -> str:
    feet = [f"{convert_nm_to_lbf_ft(value):.1f}" for value in (low_nm, high_nm)]
    kilos = [f"{convert_nm_to_kgf_m(value):.2f}" for value in (low_nm, high_nm)]
    return ", ".join(
        f"{' to '.join(dict.fromkeys(values))} {unit}"
        for values, unit in ((feet, "lbf·ft"), (kilos, "kgf·m"))
    )
