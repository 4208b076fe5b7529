"""Collects the findings of one judgement and turns them into an outcome.

The most cautious finding decides: a known number that does not fit wins over any missing one, a missing
one wins over "fits with a change".
"""

from collections.abc import Iterable

from kb.rules.fit.measuring import build_measurement
from kb.rules.fit.reasons import ReasonCode
from kb.rules.fit.settings import SLACK
from kb.rules.fit.values import Consequence, Judgement, Measurement, Reason
from kb.rules.source import SourceRef
from kb.terms import EvidenceKind, Outcome

_CAUTION_ORDER = {outcome: rank for rank, outcome in enumerate(Outcome)}


def pick_most_cautious(outcomes: Iterable[Outcome]) -> Outcome:
    """The most cautious outcome: does_not_fit < not_known < fits_with_change < fits."""
    return min(outcomes, key=_CAUTION_ORDER.__getitem__)


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
        words = "the same within" if fits else "beyond"
        self.add(
            rule,
            Outcome.FITS if fits else Outcome.DOES_NOT_FIT,
            f"{quantity} {asked:g} {unit} against {need:g} {unit} needed: {difference:+.3g} {unit}, "
            f"{words} {limit:g} {unit}.".replace("  ", " "),
            value=round(difference, 4),
            limit=limit,
            unit=unit,
        )
        return fits

    def add(
        self,
        rule: ReasonCode,
        outcome: Outcome,
        text: str,
        *,
        value: float | str | None = None,
        limit: float | str | None = None,
        unit: str | None = None,
    ) -> None:
        """One finding."""
        self.reasons.append(Reason(rule, outcome, text, value, limit, unit, self.source.source))

    def note_missing(
        self, rule: ReasonCode, *, asked: object, need: object, quantity: str | None = None
    ) -> bool:
        """Whether both numbers are known; else a finding "not known" that names which is missing."""
        name = quantity or _COLUMN[rule]
        if asked is not None and need is not None:
            return True
        who = "what was asked about" if asked is None else "the engine's need"
        label = _QUANTITY[rule]
        self.add(rule, Outcome.NOT_KNOWN, f"{label} is not known for {who}.")
        place = "On the part:" if asked is None else "On the engine or the part taken out:"
        self.missing.append(build_measurement(name, why=place))
        return False

    def judge(self, kind: EvidenceKind, text: str) -> Judgement:
        """The judgement that the findings add up to."""
        outcome = pick_most_cautious([reason.outcome for reason in self.reasons] or [Outcome.NOT_KNOWN])
        return Judgement(
            kind=kind,
            outcome=outcome,
            text=text,
            is_firm=outcome is not Outcome.NOT_KNOWN and not self.missing or outcome is Outcome.DOES_NOT_FIT,
            reasons=tuple(self.reasons),
            consequences=tuple(self.consequences),
            measure_next=tuple(self.missing),
            cautions=tuple(self.cautions),
            source=self.source,
        )


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
}
