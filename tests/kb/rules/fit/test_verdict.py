"""Needs, records and sizes of several sources put together, by the documented rules of this project."""

from dataclasses import replace

import pytest

from kb.rules.fit.reasons import REASON_TEXT, ReasonCode
from kb.rules.fit.sentence import say_verdict
from kb.rules.fit.settings import FitLimits
from kb.rules.fit.shape import shape_verdict
from kb.rules.fit.values import Asked, BeltNeed, FitRecord, Need, PartRef, PartSize, RollerNeed, Verdict
from kb.rules.fit.verdict import EngineAtPosition, build_verdict
from kb.rules.source import SourceRef
from kb.terms import Outcome, PartType, Position, SourceKind


def source(kind: str) -> SourceRef:
    return SourceRef(kind, SourceKind(kind))


MANUAL = RollerNeed(source("manual"), 16.0, 13.0, 7.0, 6)
SAME = PartSize(diameter_mm=16.0, width_mm=13.0, mass_g=7.0, count=6)


def judge(
    *needs: Need,
    size: PartSize = SAME,
    records: tuple[FitRecord, ...] = (),
    position: Position = Position.ROLLERS,
    part_type: PartType | None = None,
    rivals: tuple[PartSize, ...] = (),
) -> Verdict:
    part = PartRef("Marlow", "R-1", part_type) if part_type else None
    asked = Asked(size, part, "as typed", rival_sizes=rivals)
    return build_verdict(EngineAtPosition("wren-50", position, needs), asked, records, limits=FitLimits())


def record(kind: str, outcome: str) -> FitRecord:
    return FitRecord(Outcome(outcome), source(kind))


def tell(verdict: Verdict) -> tuple[str, str, bool]:
    return str(verdict.outcome), str(verdict.certainty), verdict.conflict


def test_need_of_a_worse_source_that_disagrees_only_marks_a_conflict() -> None:
    verdict = judge(MANUAL, RollerNeed(source("supplier"), 15.0, 12.0, 7.0, 6))
    assert tell(verdict) == ("fits", "probable", True)
    assert [(str(item.outcome), item.source and item.source.source) for item in verdict.evidence] == [
        ("fits", "manual"),
        ("does_not_fit", "supplier"),
    ]


def test_equally_good_needs_that_disagree_take_the_more_cautious_outcome() -> None:
    verdict = judge(MANUAL, RollerNeed(source("standard"), 16.0, 13.0, 6.0, 6))
    assert tell(verdict) == ("fits_with_change", "unsure", True)
    assert "mass_g" in [item.quantity for item in verdict.measure_next]
    assert len(verdict.evidence) == 2


def test_gaps_of_the_best_need_are_filled_from_the_others() -> None:
    verdict = judge(replace(MANUAL, mass_g=None), RollerNeed(source("supplier"), mass_g=7.0))
    assert tell(verdict) == ("fits", "probable", False)
    assert shape_verdict(verdict)["need"]["mass_g"] == 7.0


def test_kind_of_a_length_is_not_taken_from_another_length() -> None:
    best = BeltNeed(source("manual"), 788.0, None, 17.0, 28.0, 8.5)
    other = BeltNeed(source("supplier"), 775.0, "pitch", 17.0, 28.0, 8.5)
    asked = PartSize(length_mm=788.0, length_kind="outside", top_width_mm=17.0, angle_deg=28.0)
    verdict = judge(best, other, size=asked, position=Position.DRIVE_BELT)
    assert verdict.outcome == "fits"
    same_length = replace(other, length_mm=788.0)
    assert judge(best, same_length, size=asked, position=Position.DRIVE_BELT).outcome == "not_known"


def test_equally_good_sizes_of_a_part_that_disagree_are_a_conflict() -> None:
    verdict = judge(MANUAL, rivals=(replace(SAME, mass_g=6.0),), part_type=PartType.ROLLER_SET)
    assert tell(verdict) == ("fits_with_change", "unsure", True)


def test_engine_without_a_need_is_not_known_and_says_what_to_measure() -> None:
    verdict = judge()
    assert tell(verdict) == ("not_known", "unsure", False)
    assert verdict.reasons[0].rule == "part.need"
    assert "rollers taken out" in verdict.measure_next[0].text


def test_record_decides_where_the_need_is_not_recorded() -> None:
    assert tell(judge(records=(record("manual", "fits"),))) == ("fits", "probable", False)


@pytest.mark.parametrize("position", [Position.VARIATOR, Position.CLUTCH_BELL, Position.COVER_GASKET])
def test_all_other_positions_are_judged_by_record_only(position: Position) -> None:
    assert tell(judge(position=position)) == ("not_known", "unsure", False)
    assert tell(judge(position=position, records=(record("measured", "does_not_fit"),))) == (
        "does_not_fit",
        "probable",
        False,
    )
    assert tell(judge(position=position, records=(record("supplier", "fits"),))) == ("fits", "unsure", False)


def test_type_decides_nothing_where_only_records_do() -> None:
    verdict = judge(position=Position.VARIATOR, part_type=PartType.DRIVE_FACE)
    assert verdict.outcome == "not_known"
    verdict = judge(
        position=Position.VARIATOR, part_type=PartType.DRIVE_FACE, records=(record("manual", "fits"),)
    )
    assert tell(verdict) == ("fits", "probable", False)


def test_part_of_another_type_does_not_fit_unless_a_record_speaks_of_it() -> None:
    assert tell(judge(MANUAL, part_type=PartType.DRIVE_BELT)) == ("does_not_fit", "probable", False)
    verdict = judge(MANUAL, part_type=PartType.DRIVE_BELT, records=(record("measured", "fits"),))
    assert tell(verdict) == ("fits", "sure", False)


def test_record_stands_first_among_the_reasons() -> None:
    verdict = judge(MANUAL, records=(record("manual", "fits"), record("supplier", "does_not_fit")))
    assert verdict.reasons[0].rule == "part.record"
    assert (verdict.reasons[0].outcome, verdict.reasons[0].source) == ("fits", "manual")
    disputed = judge(MANUAL, records=(record("manual", "fits"), record("standard", "does_not_fit")))
    assert disputed.reasons[0].outcome == "does_not_fit"
    assert "disagree" in disputed.reasons[0].text


def test_conflict_names_what_would_settle_it() -> None:
    verdict = judge(MANUAL, size=replace(SAME, mass_g=6.0), records=(record("manual", "does_not_fit"),))
    assert tell(verdict) == ("does_not_fit", "unsure", True)
    assert [item.quantity for item in verdict.measure_next] == ["mass_g", "fit"]


def test_sentence_says_which_evidence_gave_way() -> None:
    disputed = judge(MANUAL, records=(record("manual", "does_not_fit"),))
    assert "the more cautious answer stands" in say_verdict(disputed)
    overruled = judge(MANUAL, records=(record("manual", "fits"), record("supplier", "does_not_fit")))
    assert say_verdict(overruled) == (
        "Yes, a roller 16 × 13 mm of 7 g fits wren-50 as rollers. Weaker evidence disagrees; see below. "
        "This is sure."
    )


def test_sentence_names_the_largest_change() -> None:
    said = say_verdict(judge(MANUAL, size=replace(SAME, mass_g=6.0)))
    assert "Shifts up at 8.0 % higher engine speed" in said


def test_every_reason_code_has_a_line_of_text() -> None:
    assert set(REASON_TEXT) == set(ReasonCode)
    assert all(text.endswith(".") and "\n" not in text for text in REASON_TEXT.values())
    assert len(set(REASON_TEXT.values())) == len(REASON_TEXT)
