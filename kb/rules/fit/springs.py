"""Clutch springs and the contra spring.

Clutch springs: the number must match, another rated speed moves engagement in proportion (force grows with
the square of the rating). Contra spring: it must go into its seat and over its guide and must not bind;
another preload changes the belt clamp.

Source: F = k·(L0 − L), k = G·d⁴/(8·D³·Na), solid length (Na + 2)·d for squared and ground ends (Shigley,
springs, from memory); limits are judgement of this project.
"""

from kb.rules.fit.findings import ON_ASKED, ON_ENGINE, Findings, Numbers, say_change
from kb.rules.fit.measuring import build_measurement
from kb.rules.fit.reasons import ReasonCode
from kb.rules.fit.settings import SLACK, FitLimits
from kb.rules.fit.values import Consequence, Judgement, PartSize, SpringNeed
from kb.terms import EvidenceKind, Outcome

SPRING_CAUTION = (
    "WARNING: the contra spring is compressed behind the clutch nut and can throw parts; hold the assembly "
    "in a press or clamp before the last turns, release it slowly, wear eye protection; the maker's manual "
    "decides."
)
CLUTCH_SPRING_CAUTION = (
    "WARNING: clutch springs are under tension; wear eye protection when hooking and unhooking them."
)
NOTICED_PERCENT = 0.05
_STIFFNESS_NUMBERS = ("wire_mm", "coil_mm", "active_coils")


def judge_clutch_springs(asked: PartSize, need: SpringNeed, limits: FitLimits) -> Judgement:
    """Whether a set of clutch springs fits; rated speeds in r/min on the same reference clutch."""
    found = Findings(need.source)
    found.cautions.append(CLUTCH_SPRING_CAUTION)
    found.add_match(ReasonCode.SPRING_COUNT, asked.count, need.count, limit=0, unit="")
    if found.note_missing(ReasonCode.SPRING_RATED_SPEED, asked=asked.rated_rpm, need=need.rated_rpm):
        _judge_rated_speed(found, float(asked.rated_rpm or 0), float(need.rated_rpm or 0), limits)
    return found.judge(EvidenceKind.SIZE, "Clutch springs compared by number and rated speed.")


def _judge_rated_speed(found: Findings, asked_rpm: float, need_rpm: float, limits: FitLimits) -> None:
    change_percent = (asked_rpm / need_rpm - 1) * 100
    same = abs(change_percent) <= limits.spring_speed_percent + SLACK
    found.add(
        ReasonCode.SPRING_RATED_SPEED,
        Outcome.FITS if same else Outcome.FITS_WITH_CHANGE,
        f"Rated {asked_rpm:g} r/min against {need_rpm:g} r/min needed: "
        f"{say_change(change_percent, limits.spring_speed_percent)}.",
        numbers=Numbers(round(change_percent, 2), limits.spring_speed_percent, "%"),
    )
    if not _goes_in(found):
        return
    text = f"Clutch engages at {abs(change_percent):.1f} % "
    text += "higher engine speed" if change_percent > 0 else "lower engine speed; check for creep at idle"
    text = f"{text} (ratings are nominal, plus or minus 10 % at best)."
    if same and abs(change_percent) < NOTICED_PERCENT:
        text = "Engagement speed unchanged."
    found.consequences.append(Consequence("engagement_speed", text, round(change_percent, 2) + 0.0))


def _goes_in(found: Findings) -> bool:
    """Whether nothing found so far keeps the spring out; only then does it have consequences."""
    return all(reason.outcome is not Outcome.DOES_NOT_FIT for reason in found.reasons)


def judge_contra_spring(asked: PartSize, need: SpringNeed, limits: FitLimits) -> Judgement:
    """Whether a contra spring goes in, does not bind, and how its clamp compares."""
    found = Findings(need.source)
    found.cautions.append(SPRING_CAUTION)
    _judge_space(found, asked, need)
    _judge_coil_bind(found, asked, need)
    _judge_preload(found, asked, need, limits)
    return found.judge(EvidenceKind.SIZE, "Contra spring compared by room, solid length and preload.")


def _judge_space(found: Findings, asked: PartSize, need: SpringNeed) -> None:
    """Room outside and inside; a mean coil that alone is too large or too small is refused without a wire."""
    coil_mm, wire_mm = asked.coil_mm, asked.wire_mm
    if coil_mm is None or wire_mm is None:
        lacking = "coil_mm" if coil_mm is None else "wire_mm"
        if coil_mm is not None and need.outer_space_mm is not None and coil_mm >= need.outer_space_mm:
            _add_room(found, ReasonCode.CONTRA_OUTER, value=coil_mm, limit=need.outer_space_mm, fits=False)
        elif coil_mm is not None and need.inner_space_mm is not None and coil_mm <= need.inner_space_mm:
            _add_room(found, ReasonCode.CONTRA_INNER, value=coil_mm, limit=need.inner_space_mm, fits=False)
        else:
            found.note_missing(
                ReasonCode.CONTRA_OUTER, asked=None, need=need.outer_space_mm, quantity=lacking
            )
        return
    outer_mm, inner_mm = coil_mm + wire_mm, coil_mm - wire_mm
    for rule, value, limit, quantity in (
        (ReasonCode.CONTRA_OUTER, outer_mm, need.outer_space_mm, "outer_space_mm"),
        (ReasonCode.CONTRA_INNER, inner_mm, need.inner_space_mm, "inner_space_mm"),
    ):
        if found.note_missing(rule, asked=value, need=limit, quantity=quantity) and limit is not None:
            is_outer = rule is ReasonCode.CONTRA_OUTER
            fits = value <= limit + SLACK if is_outer else value >= limit - SLACK
            _add_room(found, rule, value=value, limit=limit, fits=fits)


def _add_room(found: Findings, rule: ReasonCode, *, value: float, limit: float, fits: bool) -> None:
    outside = rule is ReasonCode.CONTRA_OUTER
    what, room, bound = ("Outside", "seat", "at most") if outside else ("Inside", "guide", "at least")
    found.add(
        rule,
        Outcome.FITS if fits else Outcome.DOES_NOT_FIT,
        f"{what} diameter {value:g} mm, {bound} {limit:g} mm for the {room}: "
        + ("goes in." if fits else "does not go in."),
        numbers=Numbers(round(value, 3), limit, "mm"),
    )


def _judge_coil_bind(found: Findings, asked: PartSize, need: SpringNeed) -> None:
    lacking = next((name for name in ("wire_mm", "active_coils") if getattr(asked, name) is None), None)
    solid_mm = None if lacking else ((asked.active_coils or 0) + 2) * (asked.wire_mm or 0)
    shortest_mm = need.shortest_length_mm
    if not found.note_missing(
        ReasonCode.CONTRA_COIL_BIND,
        asked=solid_mm,
        need=shortest_mm,
        quantity=lacking or "shortest_length_mm",
    ):
        return
    binds = (solid_mm or 0) >= (shortest_mm or 0) - SLACK
    found.add(
        ReasonCode.CONTRA_COIL_BIND,
        Outcome.DOES_NOT_FIT if binds else Outcome.FITS,
        f"Solid length {solid_mm:g} mm, less than {shortest_mm:g} mm needed with the driven pulley open: "
        + ("the coils bind." if binds else "the coils stay apart."),
        numbers=Numbers(round(solid_mm or 0, 3), shortest_mm, "mm"),
    )


def _judge_preload(found: Findings, asked: PartSize, need: SpringNeed, limits: FitLimits) -> None:
    names = (*_STIFFNESS_NUMBERS, "free_length_mm")
    lacking = [name for name in names if getattr(asked, name) is None]
    lacking_need = [name for name in (*names, "installed_length_mm") if getattr(need, name) is None]
    if lacking or lacking_need:
        sides = (("what was asked about", ON_ASKED, lacking), ("the engine's need", ON_ENGINE, lacking_need))
        who = " and ".join(f"{side} ({_list_words(missing)})" for side, _, missing in sides if missing)
        found.add(
            ReasonCode.CONTRA_PRELOAD,
            Outcome.NOT_KNOWN,
            f"Preload cannot be compared: numbers missing for {who}.",
        )
        for _, place, missing in sides:
            found.missing.extend(build_measurement(name, why=place) for name in missing)
        return
    _compare_preload(found, asked, need, limits)


def _list_words(columns: list[str]) -> str:
    return ", ".join(name.removesuffix("_mm").replace("_", " ") for name in columns)


def _find_preload(spring: PartSize | SpringNeed, installed_length_mm: float) -> float:
    """Preload divided by the shear modulus and constants, which both springs share."""
    wire_mm, coil_mm, coils = spring.wire_mm or 0.0, spring.coil_mm or 1.0, spring.active_coils or 1.0
    stiffness = wire_mm**4 / (coil_mm**3 * coils)
    return stiffness * max(0.0, (spring.free_length_mm or 0.0) - installed_length_mm)


def _compare_preload(found: Findings, asked: PartSize, need: SpringNeed, limits: FitLimits) -> None:
    installed_mm = need.installed_length_mm or 0.0
    need_preload = _find_preload(need, installed_mm)
    if need_preload <= 0:
        found.add(
            ReasonCode.CONTRA_PRELOAD,
            Outcome.NOT_KNOWN,
            "The engine's own spring has no preload at the installed length as recorded; check those "
            "numbers.",
        )
        found.missing.append(build_measurement("installed_length_mm"))
        return
    change_percent = (_find_preload(asked, installed_mm) / need_preload - 1) * 100
    same = abs(change_percent) <= limits.contra_preload_percent + SLACK
    found.add(
        ReasonCode.CONTRA_PRELOAD,
        Outcome.FITS if same else Outcome.FITS_WITH_CHANGE,
        f"Preload at {installed_mm:g} mm against the specified spring: "
        f"{say_change(change_percent, limits.contra_preload_percent)}.",
        numbers=Numbers(round(change_percent, 2), limits.contra_preload_percent, "%"),
    )
    if _goes_in(found):
        text = _say_clamp(change_percent)
        found.consequences.append(Consequence("clamp_force", text, round(change_percent, 2) + 0.0))


def _say_clamp(change_percent: float) -> str:
    if abs(change_percent) < NOTICED_PERCENT:
        return "Belt clamp unchanged."
    if change_percent <= -100 + SLACK:
        return "No preload left at rest: the belt is not clamped, it slips."
    if change_percent > 0:
        return f"Belt clamped {change_percent:.1f} % harder at rest: later upshift, more wear."
    return f"Belt clamped {-change_percent:.1f} % less at rest: earlier upshift, it may slip."
