"""Bearings, oil seals, o-rings: bore, outside and width must match; clearance class and form may differ.

An o-ring is its inside diameter and section; an outside diameter stated instead of the section gives it as
(outside − bore)/2, which is geometry, not a guess.
"""

from dataclasses import replace
from typing import TypeVar

from kb.rules.fit.findings import Findings, Numbers
from kb.rules.fit.measuring import build_measurement
from kb.rules.fit.reasons import ReasonCode
from kb.rules.fit.settings import FitLimits
from kb.rules.fit.values import Judgement, PartSize, SizeNeed
from kb.terms import EvidenceKind, Outcome, Position

_Sized = TypeVar("_Sized", PartSize, SizeNeed)

O_RING_POSITIONS = (Position.TORQUE_DRIVER_O_RING, Position.SHAFT_O_RING)


def judge_envelope(asked: PartSize, need: SizeNeed, position: Position, limits: FitLimits) -> Judgement:
    """Whether a bearing, seal or o-ring fits by its boundary dimensions."""
    found = Findings(need.source)
    limit = limits.envelope_mm
    if position in O_RING_POSITIONS:
        asked, need = _find_section(asked), _find_section(need)
        found.add_match(ReasonCode.BORE, asked.bore_mm, need.bore_mm, limit=limit, unit="mm")
        found.add_match(
            ReasonCode.WIDTH, asked.width_mm, need.width_mm, limit=limits.o_ring_section_mm, unit="mm"
        )
    else:
        found.add_match(ReasonCode.BORE, asked.bore_mm, need.bore_mm, limit=limit, unit="mm")
        found.add_match(ReasonCode.OUTSIDE, asked.outside_mm, need.outside_mm, limit=limit, unit="mm")
        found.add_match(ReasonCode.WIDTH, asked.width_mm, need.width_mm, limit=limit, unit="mm")
    _judge_word(found, ReasonCode.CLEARANCE, asked.clearance, need.clearance)
    _judge_word(found, ReasonCode.FORM, asked.form, need.form)
    return found.judge(
        EvidenceKind.SIZE, "Compared by bore, outside diameter and width, then clearance and form."
    )


def _find_section(size: _Sized) -> _Sized:
    if size.width_mm is None and size.bore_mm is not None and size.outside_mm is not None:
        return replace(size, width_mm=round((size.outside_mm - size.bore_mm) / 2, 4))
    return size


def _judge_word(found: Findings, rule: ReasonCode, asked: str | None, need: str | None) -> None:
    name = "clearance" if rule is ReasonCode.CLEARANCE else "form"
    if need is None:
        if asked is not None:
            found.cautions.append(
                f"The {name} that the engine needs is not recorded; asked about was '{asked}'."
            )
        return
    if asked is None:
        found.cautions.append(
            f"The {name} of what was asked about is not known; the engine's own has '{need}'."
        )
        found.missing.append(build_measurement(name))
        return
    same = normalise_form(asked) == normalise_form(need)
    found.add(
        rule,
        Outcome.FITS if same else Outcome.FITS_WITH_CHANGE,
        f"{name.capitalize()} '{asked}'" + (" as needed." if same else f" instead of '{need}'."),
        numbers=Numbers(asked, need),
    )


def normalise_form(word: str) -> str:
    """One spelling for clearance and seal letters: ZZ and 2Z are the same, as are CN and normal.

    Source: common practice, no source.
    """
    key = "".join(letter for letter in word.upper() if letter.isalnum())
    return {"ZZ": "2Z", "NORMAL": "CN", "C0": "CN", "RSR": "RS", "2RSR": "2RS"}.get(key, key)
