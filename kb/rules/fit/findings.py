"""Collects the findings of one judgement and turns them into an outcome.

The most cautious finding decides: a known number that does not fit wins over any missing one, a missing
one wins over "fits with a change".
"""

from collections.abc import Iterable
from typing import NamedTuple

from kb.rules.fit.measuring import build_measurement
from kb.rules.fit.reasons import ReasonCode
from kb.rules.fit.settings import SLACK
from kb.rules.fit.values import Consequence, Judgement, Measurement, Reason
from kb.rules.source import SourceRef
from kb.terms import EvidenceKind, Outcome

# Where a missing number is to be measured.
ON_ASKED = "On the part asked about:"
ON_ENGINE = "On the engine or the part taken out:"

_CAUTION_ORDER = {outcome: rank for rank, outcome in enumerate(Outcome)}


def pick_most_cautious(outcomes: Iterable[Outcome]) -> Outcome:
    """The most cautious outcome: does_not_fit < not_known < fits_with_change < fits."""
    return min(outcomes, key=_CAUTION_ORDER.__getitem__)


class Numbers(NamedTuple):
    """The value found, the limit that it was held against, and the unit of both."""

    value: float | str | None
    limit: float | str | None
    unit: str | None = None


NO_NUMBERS = Numbers(None, None)


class Findings:
    """Reasons, consequences and missing quantities of one judgement, in the order they were found."""

    def __init__(self, source: SourceRef) -> None:
        self.source = source
        self.reasons: list[Reason] = []
        self.consequences: list[Consequence] = []
        self.missing: list[Measurement] = []
        self.cautions: list[str] = []

    def add_match(
        self, rule: ReasonCode, asked: float | None, need: float | None, *, limit: float, unit: str
    ) -> bool:
        """A number that must match within a limit (itself still good); returns whether it is known to."""
        quantity = _QUANTITY[rule]
        if not self.note_missing(rule, asked=asked, need=need) or asked is None or need is None:
            return False
        difference = asked - need
        fits = abs(difference) <= limit + SLACK
        shown = f" {unit}" if unit else ""
        self.add(
            rule,
            Outcome.FITS if fits else Outcome.DOES_NOT_FIT,
            f"{quantity} {asked:g}{shown} against {need:g}{shown} needed: "
            f"{_say_difference(difference, limit, unit=shown)}.",
            numbers=Numbers(round(difference, 4), limit, unit),
        )
        return fits

    def add(
        self,
        rule: ReasonCode,
        outcome: Outcome,
        text: str,
        *,
        numbers: Numbers = NO_NUMBERS,
    ) -> None:
        """One finding."""
        self.reasons.append(Reason(rule, outcome, text, *numbers, self.source.name))

    def note_missing(
        self, rule: ReasonCode, *, asked: object, need: object, quantity: str | None = None
    ) -> bool:
        """Whether both numbers are known; else a finding "not known" that names which is missing."""
        name = quantity or _COLUMN[rule]
        if asked is not None and need is not None:
            return True
        label = _QUANTITY[rule]
        if asked is None and need is None:
            who, place = (
                "either side: what was asked about and the engine's need",
                "On both parts, new and old:",
            )
        elif asked is None:
            who, place = "what was asked about", ON_ASKED
        else:
            who, place = "the engine's need", ON_ENGINE
        self.add(rule, Outcome.NOT_KNOWN, f"{label} is not known for {who}.")
        self.missing.append(build_measurement(name, why=place))
        return False

    def judge(self, kind: EvidenceKind, text: str) -> Judgement:
        """The judgement that the findings add up to."""
        outcome = pick_most_cautious([reason.outcome for reason in self.reasons] or [Outcome.NOT_KNOWN])
        return Judgement(
            kind=kind,
            outcome=outcome,
            text=text,
            is_firm=outcome is Outcome.DOES_NOT_FIT
            or (outcome is not Outcome.NOT_KNOWN and not self.missing),
            reasons=tuple(self.reasons),
            consequences=tuple(self.consequences),
            measure_next=tuple(self.missing),
            cautions=tuple(self.cautions),
            source=self.source,
        )


def _say_difference(difference: float, limit: float, *, unit: str) -> str:
    """A difference against its limit, as one says it: the same, or how much larger or smaller."""
    size = abs(difference)
    if size <= SLACK:
        return "the same"
    way = "more" if difference > 0 else "less"
    if limit == 0:
        return f"{size:.3g}{unit} {way}, it must be the same"
    within = "no more" if size <= limit + SLACK else "further off"
    return f"{size:.3g}{unit} {way}, {within} than the {limit:g}{unit} allowed"


def say_change(change_percent: float, limit_percent: float) -> str:
    """A change against the limit up to which it does not count, in words."""
    size = abs(change_percent)
    if size <= SLACK:
        return "the same"
    way = "more" if change_percent > 0 else "less"
    within = "no change up to" if size <= limit_percent + SLACK else "more than"
    return f"{size:.1f} % {way}, {within} {limit_percent:g} %"


def list_quantities(reasons: Iterable[Reason]) -> list[str]:
    """Names of the quantities behind reasons, to measure again where evidence disagrees."""
    return list(dict.fromkeys(_COLUMN[reason.rule] for reason in reasons if reason.rule in _COLUMN))


_QUANTITY = {
    ReasonCode.ROLLER_DIAMETER: "Diameter",
    ReasonCode.ROLLER_WIDTH: "Width",
    ReasonCode.ROLLER_COUNT: "Number of rollers",
    ReasonCode.ROLLER_MASS: "Mass of one roller",
    ReasonCode.SPRING_COUNT: "Number of springs",
    ReasonCode.SPRING_RATED_SPEED: "Rated speed",
    ReasonCode.THREAD_DIAMETER: "Thread diameter",
    ReasonCode.THREAD_PITCH: "Thread pitch",
    ReasonCode.THREAD_HAND: "Hand of the thread",
    ReasonCode.ACROSS_FLATS: "Width across flats",
    ReasonCode.BORE: "Bore",
    ReasonCode.OUTSIDE: "Outside diameter",
    ReasonCode.WIDTH: "Width",
    ReasonCode.CLEARANCE: "Clearance class",
    ReasonCode.FORM: "Form",
    ReasonCode.CONTRA_OUTER: "Room outside the spring",
    ReasonCode.CONTRA_INNER: "Room inside the spring",
    ReasonCode.CONTRA_COIL_BIND: "Solid length",
    ReasonCode.CONTRA_PRELOAD: "Preload",
}
_COLUMN = {
    ReasonCode.ROLLER_DIAMETER: "diameter_mm",
    ReasonCode.ROLLER_WIDTH: "width_mm",
    ReasonCode.ROLLER_COUNT: "count",
    ReasonCode.ROLLER_MASS: "mass_g",
    ReasonCode.SPRING_COUNT: "count",
    ReasonCode.SPRING_RATED_SPEED: "rated_rpm",
    ReasonCode.THREAD_DIAMETER: "thread",
    ReasonCode.THREAD_PITCH: "thread",
    ReasonCode.THREAD_HAND: "hand",
    ReasonCode.ACROSS_FLATS: "across_flats_mm",
    ReasonCode.BORE: "bore_mm",
    ReasonCode.OUTSIDE: "outside_mm",
    ReasonCode.WIDTH: "width_mm",
    ReasonCode.CLEARANCE: "clearance",
    ReasonCode.FORM: "form",
    ReasonCode.CONTRA_OUTER: "coil_mm",
    ReasonCode.CONTRA_INNER: "coil_mm",
    ReasonCode.CONTRA_COIL_BIND: "active_coils",
    ReasonCode.CONTRA_PRELOAD: "free_length_mm",
    ReasonCode.BELT_LENGTH: "length_mm",
    ReasonCode.BELT_LENGTH_KIND: "length_kind",
    ReasonCode.BELT_TOP_WIDTH: "top_width_mm",
    ReasonCode.BELT_ANGLE: "angle_deg",
    ReasonCode.BELT_THICKNESS: "thickness_mm",
    ReasonCode.BELT_FLANK_ANGLE: "angle_deg",
    ReasonCode.BELT_LOW_RATIO: "top_width_mm",
    ReasonCode.BELT_HIGH_RATIO: "top_width_mm",
    ReasonCode.BELT_SLACK_AT_REST: "length_mm",
    ReasonCode.BELT_MOUNT: "length_mm",
}
