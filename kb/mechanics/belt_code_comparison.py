"""Two belts compared by the sizes in their codes alone, when nothing is known of the pulleys.

What it does not tell: compound, cord and load rating; and, for a middling difference, whether the pulleys
forgive it. Then the answer is "cannot tell" and names what to measure.

Source: every limit is judgement of this project, none is published; each is a field of ``CodeLimits``.
"""

from dataclasses import dataclass

from kb.mechanics.belt_length import is_length_kind_suspect
from kb.mechanics.fit_class import FitClass
from kb.terms import LengthKind

TOLERANCE = 1e-9
"""Slack of every comparison with a limit; limits are inclusive."""

PULLEY_GEOMETRY = "pulley geometry"


@dataclass(frozen=True, slots=True)
class CodeLimits:
    """Largest differences of each class, bounds included. All are judgement of this project.

    A difference above ``..._usable`` and up to ``..._refused`` cannot be judged without the pulleys.
    The percentages are the low-confidence consequences of a made-up circuit.
    """

    length_same_mm: float = 2.0
    length_usable_mm: float = 5.0
    length_refused_mm: float = 15.0
    top_width_same_mm: float = 0.3
    top_width_usable_mm: float = 1.0
    top_width_refused_mm: float = 2.0
    angle_same_deg: float = 0.5
    angle_usable_deg: float = 0.5
    angle_refused_deg: float = 2.0
    thickness_same_mm: float = 0.5
    top_speed_percent_per_mm_length: float = -0.9
    top_speed_percent_per_mm_width: float = 10.0


DEFAULT_CODE_LIMITS = CodeLimits()


@dataclass(frozen=True, slots=True)
class BeltCode:
    """The sizes of a belt code, None for what it does not say."""

    length_mm: float | None
    top_width_mm: float | None
    angle_deg: float | None
    thickness_mm: float | None = None
    length_kind: LengthKind | None = None


@dataclass(frozen=True, slots=True)
class CodeFinding:
    """One quantity compared.

    Attributes:
        quantity: "outer length", "top width", "included angle" or "thickness".
        difference: asked minus needed, None if it could not be compared.
        limit: the limit that the difference passes or, if it passes none, the one that it keeps.
        unit: of difference and limit.
        fit_class: what this quantity alone would say.
    """

    quantity: str
    difference: float | None
    limit: float
    unit: str
    fit_class: FitClass


@dataclass(frozen=True, slots=True)
class CodeComparison:
    """Answer of a comparison by code.

    Attributes:
        fit_class: the worst of the quantities, as ruled in ``compare_codes``.
        findings: one per quantity, in the order length, width, angle, thickness (if both are known).
        measure: what would settle a "cannot tell", else empty.
        is_thickness_compared: False if a thickness is missing; the answer should say so.
        is_length_kind_suspect: the lengths differ as an outside and an inside length of one belt do.
        top_speed_change_percent: rough change at the same engine speed, None if length or width is unknown.
    """

    fit_class: FitClass
    findings: tuple[CodeFinding, ...]
    measure: tuple[str, ...]
    is_thickness_compared: bool
    is_length_kind_suspect: bool
    top_speed_change_percent: float | None

    @property
    def is_refused_by_thickness(self) -> bool:
        """Whether no single quantity is too far off, only a difference with another thickness beside it."""
        return self.fit_class is FitClass.DOES_NOT_FIT and all(
            finding.fit_class is not FitClass.DOES_NOT_FIT for finding in self.findings
        )


def compare_codes(
    need: BeltCode, asked: BeltCode, limits: CodeLimits = DEFAULT_CODE_LIMITS
) -> CodeComparison:
    """Class of the asked belt where another is needed, by their codes alone.

    A known difference beyond the refusal limit decides at once. Otherwise a missing quantity, lengths of
    different or unknown kind, or a middling difference leave the answer open. A known thickness difference
    above its limit lowers the class by one.

    Args:
        need: what the engine asks for.
        asked: the belt at hand.
        limits: largest differences of each class.

    Returns:
        Class, findings and what to measure.

    Source:
        judgement of this project.

    Example:
        >>> outside = LengthKind.OUTSIDE
        >>> need = BeltCode(743.0, 20.0, 30.0, length_kind=outside)
        >>> compare_codes(need, BeltCode(745.0, 20.2, 30.0, length_kind=outside)).fit_class.value
        'same_size'
        >>> compare_codes(need, BeltCode(743.0, None, 30.0, length_kind=outside)).measure
        ('top width',)
    """
    length = _find_length_difference(need, asked)
    width = _find_difference(need.top_width_mm, asked.top_width_mm)
    findings = [
        _judge(
            "outer length",
            length,
            unit="mm",
            limits=(limits.length_same_mm, limits.length_usable_mm, limits.length_refused_mm),
        ),
        _judge(
            "top width",
            width,
            unit="mm",
            limits=(limits.top_width_same_mm, limits.top_width_usable_mm, limits.top_width_refused_mm),
        ),
        _judge(
            "included angle",
            _find_difference(need.angle_deg, asked.angle_deg),
            unit="deg",
            limits=(limits.angle_same_deg, limits.angle_usable_deg, limits.angle_refused_deg),
        ),
    ]
    fit_class, measure = _weigh(findings)
    thickness = _find_difference(need.thickness_mm, asked.thickness_mm)
    if thickness is not None:
        is_thinner_or_thicker = abs(thickness) > limits.thickness_same_mm + TOLERANCE
        thickness_class = FitClass.USABLE if is_thinner_or_thicker else FitClass.SAME_SIZE
        findings.append(CodeFinding("thickness", thickness, limits.thickness_same_mm, "mm", thickness_class))
        if is_thinner_or_thicker:
            fit_class = _LOWERED.get(fit_class, fit_class)
    return CodeComparison(
        fit_class=fit_class,
        findings=tuple(findings),
        measure=measure,
        is_thickness_compared=thickness is not None,
        is_length_kind_suspect=_has_suspect_length(need, asked),
        top_speed_change_percent=None
        if length is None or width is None
        else length * limits.top_speed_percent_per_mm_length + width * limits.top_speed_percent_per_mm_width,
    )


_LOWERED = {FitClass.SAME_SIZE: FitClass.USABLE, FitClass.USABLE: FitClass.DOES_NOT_FIT}


def _find_difference(needed: float | None, asked: float | None) -> float | None:
    return None if needed is None or asked is None else asked - needed


def _find_length_difference(need: BeltCode, asked: BeltCode) -> float | None:
    """Difference of the lengths, None unless both are known to lie along the same line of the belt."""
    if need.length_kind is None or need.length_kind != asked.length_kind:
        return None
    return _find_difference(need.length_mm, asked.length_mm)


def _has_suspect_length(need: BeltCode, asked: BeltCode) -> bool:
    difference = _find_difference(need.length_mm, asked.length_mm)
    thickness = asked.thickness_mm if need.thickness_mm is None else need.thickness_mm
    return difference is not None and is_length_kind_suspect(difference, thickness)


def _judge(
    quantity: str, difference: float | None, *, unit: str, limits: tuple[float, float, float]
) -> CodeFinding:
    same, usable, refused = limits
    if difference is None:
        return CodeFinding(quantity, None, same, unit, FitClass.CANNOT_TELL)
    size = abs(difference) - TOLERANCE
    if size > refused:
        return CodeFinding(quantity, difference, refused, unit, FitClass.DOES_NOT_FIT)
    if size > usable:
        return CodeFinding(quantity, difference, usable, unit, FitClass.CANNOT_TELL)
    return CodeFinding(
        quantity, difference, same, unit, FitClass.USABLE if size > same else FitClass.SAME_SIZE
    )


def _weigh(findings: list[CodeFinding]) -> tuple[FitClass, tuple[str, ...]]:
    """Class of all quantities together, and what to measure if they leave it open."""
    classes = {finding.fit_class for finding in findings}
    if FitClass.DOES_NOT_FIT in classes:
        return FitClass.DOES_NOT_FIT, ()
    if FitClass.CANNOT_TELL in classes:
        unsettled = [finding for finding in findings if finding.fit_class == FitClass.CANNOT_TELL]
        measure = [finding.quantity for finding in unsettled if finding.difference is None]
        if len(measure) < len(unsettled):
            measure.append(PULLEY_GEOMETRY)
        return FitClass.CANNOT_TELL, tuple(measure)
    return (FitClass.USABLE if FitClass.USABLE in classes else FitClass.SAME_SIZE), ()
