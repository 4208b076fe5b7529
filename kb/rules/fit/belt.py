"""Belts: by size against the need, or by geometry when the engine's drive is known.

Geometry runs both belts through the engine's pulleys and replaces the comparison by size, except that a
belt too far off the need in length, width or angle stays "does not fit": ratios can cancel, seats can't.

Geometry needs every number of the drive (but the cord depth) and, of the engine's own belt, length, width
and thickness. Where those are lacking, or the recorded drive does not run the engine's own belt, the sizes
are compared instead, and a caution says why. A thickness or cord depth that is not stated for the belt asked
about is taken from the need and the drive, an unstated length kind is read as outside, and a caution says so
each time.

Source: ``kb.mechanics.belt_code_comparison`` and ``kb.mechanics.belt_geometry_comparison``; all limits are
judgement of this project.
"""

from dataclasses import dataclass, replace
from math import pi

from kb.errors import BadInput
from kb.mechanics.belt_code_comparison import PULLEY_GEOMETRY, BeltCode, CodeComparison, compare_codes
from kb.mechanics.belt_geometry_comparison import GeometryComparison, compare_in_drive
from kb.mechanics.drive_range import Belt, DriveRange, find_range
from kb.mechanics.fit_class import FitClass
from kb.mechanics.wedge import flank_mismatch
from kb.rules.fit.belt_consequences import (
    Bedding,
    add_bedding_consequence,
    add_code_consequences,
    add_geometry_consequences,
    round_code_change,
    round_drive_changes,
)
from kb.rules.fit.belt_wording import add_code_reasons, add_geometry_reasons, add_seat_reasons
from kb.rules.fit.findings import Findings
from kb.rules.fit.measuring import build_measurement
from kb.rules.fit.settings import SLACK, FitLimits
from kb.rules.fit.values import BeltNeed, DriveData, Judgement, Measurement, PartSize
from kb.terms import EvidenceKind, LengthKind, Outcome

BELT_CAUTION = (
    "Same size says nothing about compound, cord and load rating; the maker's manual decides. Work on the "
    "drive with the ignition off, the plug lead off and the machine secured."
)
_OUTCOME = {
    FitClass.SAME_SIZE: Outcome.FITS,
    FitClass.USABLE: Outcome.FITS_WITH_CHANGE,
    FitClass.DOES_NOT_FIT: Outcome.DOES_NOT_FIT,
    FitClass.CANNOT_TELL: Outcome.NOT_KNOWN,
}


@dataclass(frozen=True, slots=True)
class BeltComparison:
    """A belt compared with the need: always by code, and in the drive where that can be done."""

    outcome: Outcome
    kind: EvidenceKind
    by_code: CodeComparison
    in_drive: GeometryComparison | None

    @property
    def largest_change_percent(self) -> float | None:
        """The change of largest size that the answer will state [%], None where it states none."""
        if self.in_drive is not None:
            return max(round_drive_changes(self.in_drive), key=abs, default=None)
        return round_code_change(self.by_code)


class BeltJudge:
    """Judges belts for one engine: what depends only on the engine is computed once."""

    def __init__(self, need: BeltNeed, drive: DriveData | None, limits: FitLimits) -> None:
        self.need = need
        self.drive = drive
        self.limits = limits
        self._need_code = _build_code(_get_need_size(need))
        self._need_belt = self.build_belt(_get_need_size(need)) if drive else None
        self._need_range = self._find_need_range()

    def compare(self, asked: PartSize) -> BeltComparison:
        """Outcome of a belt without any text; quick enough for a thousand candidates."""
        by_code = compare_codes(self._need_code, _build_code(asked), self.limits.belt_code)
        in_drive = self._compare_in_drive(asked)
        if in_drive is None or (
            by_code.fit_class is FitClass.DOES_NOT_FIT and not by_code.is_refused_by_thickness
        ):
            return BeltComparison(_OUTCOME[by_code.fit_class], EvidenceKind.SIZE, by_code, in_drive)
        return BeltComparison(_OUTCOME[in_drive.fit_class], EvidenceKind.GEOMETRY, by_code, in_drive)

    def judge(self, asked: PartSize) -> Judgement:
        """Outcome of a belt with every reason, limit and consequence."""
        comparison = self.compare(asked)
        found = Findings(self.need.source)
        found.cautions.extend(self._list_assumptions(asked, comparison))
        in_drive = comparison.in_drive
        if in_drive is not None:
            add_seat_reasons(found, comparison.by_code, self.limits.belt_code)
            add_geometry_reasons(found, in_drive)
            add_geometry_consequences(found, in_drive, self.drive)
            if comparison.kind is EvidenceKind.GEOMETRY and in_drive.top_speed_change_percent is not None:
                add_bedding_consequence(found, self._find_bedding(asked, comparison))
        else:
            lacking = _list_lacking(self.need, asked)
            add_code_reasons(
                found, comparison.by_code, lacking=lacking, is_kind_known=self._has_same_kind(asked)
            )
            if comparison.outcome is not Outcome.DOES_NOT_FIT:  # the rough figures end long before
                add_code_consequences(found, comparison.by_code)
            if self._needs_drive(comparison):
                found.missing.append(self._measure_for_geometry())
        found.cautions.append(BELT_CAUTION)
        judged = found.judge(comparison.kind, _describe(comparison))
        # The class weighs all quantities together, which the single findings do not show.
        return Judgement(
            kind=comparison.kind,
            outcome=comparison.outcome,
            text=judged.text,
            is_firm=_is_firm(comparison),
            reasons=judged.reasons,
            consequences=judged.consequences,
            measure_next=judged.measure_next,
            cautions=judged.cautions,
            source=self.need.source,
        )

    @property
    def need_belt(self) -> Belt | None:
        """The specified belt as it runs in the engine's drive, None where the drive is not known."""
        return self._need_belt

    @property
    def need_range(self) -> DriveRange | None:
        """Range of the specified belt in the engine's drive, None where it is not known."""
        return self._need_range

    def find_asked_range(self, asked: PartSize) -> DriveRange | None:
        """Range of another belt in the engine's drive, None where it is not known."""
        comparison = self.compare(asked)
        return comparison.in_drive.asked_range if comparison.in_drive else None

    def _find_need_range(self) -> DriveRange | None:
        belt = self._need_belt
        if self.drive is None or belt is None:
            return None
        if None in (belt.length_mm, belt.top_width_mm, belt.thickness_mm, belt.cord_depth_mm):
            return None
        try:
            found = find_range(self.drive.drive, belt)
        except BadInput:  # a recorded size that no belt can have says as little as a missing one
            return None
        return found if found.is_driving else None

    def _needs_drive(self, comparison: BeltComparison) -> bool:
        """Whether only the pulleys could settle what the sizes leave open."""
        if self.drive is not None and self._need_range is not None:
            return False
        undecided = PULLEY_GEOMETRY in comparison.by_code.measure
        return undecided or comparison.outcome is Outcome.FITS_WITH_CHANGE

    def _measure_for_geometry(self) -> Measurement:
        if self.drive is None:
            return build_measurement("drive")
        for name in ("length_mm", "top_width_mm", "thickness_mm"):
            if getattr(self.need, name) is None:
                return build_measurement(name, why="On the engine's own belt:")
        return build_measurement("drive", why="The recorded numbers do not run the engine's own belt.")

    def _find_bedding(self, asked: PartSize, comparison: BeltComparison) -> Bedding | None:
        """What it costs until a belt of another angle has worn to the grooves; None with their angle."""
        asked_deg, thickness_mm = asked.angle_deg, self.build_belt(asked).thickness_mm
        if self.drive is None or asked_deg is None or thickness_mm is None:
            return None
        pulleys = (self.drive.drive.drive, self.drive.drive.driven)
        groove_deg = max((pulley.angle_deg for pulley in pulleys), key=lambda deg: abs(asked_deg - deg))
        if abs(asked_deg - groove_deg) <= self.limits.belt_geometry.angle_same_deg + SLACK:
            return None
        opening_mm = flank_mismatch(asked_deg, groove_deg, thickness_mm=thickness_mm).gap_per_side_mm
        worn = replace(asked, top_width_mm=(asked.top_width_mm or 0.0) - 2 * opening_mm)
        bedded, new = self._compare_in_drive(worn), comparison.in_drive
        change_percent = None
        if bedded is not None and new is not None:
            change_percent = _find_extra_change(new.top_speed_change_percent, bedded.top_speed_change_percent)
        return Bedding(asked_deg, groove_deg, opening_mm, change_percent)

    def _compare_in_drive(self, asked: PartSize) -> GeometryComparison | None:
        if self.drive is None or self._need_belt is None or self._need_range is None:
            return None
        if not self._has_same_kind(asked):
            return None
        belt = self.build_belt(asked)
        if None in (belt.length_mm, belt.top_width_mm, belt.angle_deg, belt.thickness_mm):
            return None
        try:
            compared = compare_in_drive(
                self.drive.drive,
                self._need_belt,
                belt,
                self.limits.belt_geometry,
                need_range=self._need_range,
            )
        except BadInput:
            return None
        return None if compared.fit_class is FitClass.CANNOT_TELL else compared

    def _has_same_kind(self, asked: PartSize) -> bool:
        return _get_kind(asked.length_kind) is _get_kind(self.need.length_kind)

    def fill_thickness(self, size: PartSize) -> PartSize:
        """The size with the thickness of the need where it states none, as it is judged."""
        if size.thickness_mm is not None or self.need.thickness_mm is None:
            return size
        return replace(size, thickness_mm=self.need.thickness_mm)

    def build_belt(self, size: PartSize) -> Belt:
        """Belt for the drive; thickness from the need and cord depth from the drive where not stated."""
        cord_depth_mm = (
            self.drive.cord_depth_mm if self.drive else None
        ) or self.limits.default_cord_depth_mm
        thickness_mm = size.thickness_mm if size.thickness_mm is not None else self.need.thickness_mm
        outside_mm = size.length_mm
        kind = _get_kind(size.length_kind)
        if outside_mm is not None and kind is LengthKind.PITCH:
            outside_mm += 2 * pi * cord_depth_mm
        elif outside_mm is not None and kind is LengthKind.INSIDE:
            outside_mm = outside_mm + 2 * pi * thickness_mm if thickness_mm is not None else None
        return Belt(outside_mm, size.top_width_mm, size.angle_deg, thickness_mm, cord_depth_mm)

    def _list_assumptions(self, asked: PartSize, comparison: BeltComparison) -> list[str]:
        cautions = []
        if asked.length_mm is not None and asked.length_kind is None:
            cautions.append("The length was given without La, Lp or Li and was read as outside length (La).")
        if self.need.length_mm is not None and self.need.length_kind is None:
            cautions.append(
                "The engine's belt length is recorded without its kind and was read as outside length."
            )
        cautions.extend(self._list_thickness_assumptions(asked, comparison))
        if comparison.in_drive is not None and self.drive is not None:
            depth_mm = self.drive.cord_depth_mm
            default_mm = self.limits.default_cord_depth_mm
            cautions.append(
                f"The cord depth is not known; {default_mm:g} mm was used for both belts."
                if depth_mm is None
                else f"The cord depth of the belt asked about is not known; {depth_mm:g} mm of the engine's "
                "drive was used."
            )
        elif self.drive is not None:
            cautions.append(self._explain_no_geometry(asked))
        if comparison.by_code.is_length_kind_suspect:
            cautions.append(
                "The lengths differ as outside and inside length of one belt do; measure the outside length."
            )
        return cautions

    def _list_thickness_assumptions(self, asked: PartSize, comparison: BeltComparison) -> list[str]:
        need_mm = self.need.thickness_mm
        if asked.thickness_mm is None and need_mm is not None:
            return [
                f"The thickness of the belt asked about is not known; {need_mm:g} mm of the engine's own "
                "belt was used."
            ]
        if not comparison.by_code.is_thickness_compared:
            return ["The thickness was not compared: that of the engine's own belt is not known."]
        return []

    def _explain_no_geometry(self, asked: PartSize) -> str:
        if self._need_range is None:
            for name in ("length", "top_width", "thickness"):
                if getattr(self.need, f"{name}_mm") is None:
                    word = name.replace("_", " ")
                    return f"The {word} of the engine's own belt is not known; judged by size only."
            return "The recorded drive does not run the engine's own belt: check it. Judged by size only."
        lacking = next(
            (name for name in ("length", "top_width", "angle") if _lacks(asked, name)), "length kind"
        )
        return f"The drive is known but not the belt's {lacking.replace('_', ' ')}; judged by size only."


def _list_lacking(need: BeltNeed, asked: PartSize) -> dict[str, tuple[bool, bool]]:
    """For each number of a belt code whether the belt asked about and the need lack it."""
    names = ("length_mm", "top_width_mm", "angle_deg")
    return {name: (getattr(asked, name) is None, getattr(need, name) is None) for name in names}


def _lacks(size: PartSize, name: str) -> bool:
    numbers = {"length": size.length_mm, "top_width": size.top_width_mm, "angle": size.angle_deg}
    return numbers[name] is None


def _get_need_size(need: BeltNeed) -> PartSize:
    return PartSize(
        length_mm=need.length_mm,
        length_kind=need.length_kind,
        top_width_mm=need.top_width_mm,
        angle_deg=need.angle_deg,
        thickness_mm=need.thickness_mm,
    )


def _get_kind(kind: str | None) -> LengthKind:
    """Length kind; one that is not stated is read as outside, and the answer says so."""
    return LengthKind(kind) if kind else LengthKind.OUTSIDE


def _build_code(size: PartSize) -> BeltCode:
    kind = _get_kind(size.length_kind)
    return BeltCode(size.length_mm, size.top_width_mm, size.angle_deg, size.thickness_mm, kind)


def _find_extra_change(before_percent: float | None, after_percent: float | None) -> float | None:
    """Change [%] that comes on top of one that is there already."""
    if before_percent is None or after_percent is None:
        return None
    return ((1 + after_percent / 100) / (1 + before_percent / 100) - 1) * 100


def _is_firm(comparison: BeltComparison) -> bool:
    if comparison.kind is EvidenceKind.GEOMETRY:
        return comparison.outcome is not Outcome.NOT_KNOWN
    return comparison.outcome in (Outcome.FITS, Outcome.DOES_NOT_FIT)


def _describe(comparison: BeltComparison) -> str:
    if comparison.kind is EvidenceKind.GEOMETRY:
        return "Both belts run through the engine's own pulleys."
    if comparison.in_drive is not None:
        return "The size is too far off the need, whatever the ratios say."
    return "Sizes compared without the pulleys."
