"""Fit questions to a catalogue, on both databases.

Expected answers: documented rules of this project; those through the drive rest on the made-up circuit of the
drive check values (exact belt length: Shigley, flexible elements).
"""

import json
from collections.abc import Callable
from typing import Any

import pytest
from sqlalchemy import Engine

from kb.database import open_reader
from kb.errors import BadInput, BadNotation, NotFound
from kb.lookups.fit import FitQuestion, does_part_fit
from kb.rules.fit.shape import shape_verdict

Ask = Callable[..., dict[str, Any]]


def tell(answer: dict[str, Any]) -> tuple[str, str, bool]:
    return answer["outcome"], answer["certainty"], answer["conflict"]


def list_kinds(answer: dict[str, Any]) -> list[tuple[str, str, str]]:
    return [(item["kind"], item["outcome"], item["source"]) for item in answer["evidence"]]


def test_record_of_the_manual_and_geometry_that_agree_are_sure(ask: Ask) -> None:
    answer = ask("Marlow B-788")
    assert tell(answer) == ("fits", "sure", False)
    assert list_kinds(answer) == [("record", "fits", "book"), ("geometry", "fits", "book")]
    assert answer["asked"]["kind"] == "part"
    assert (answer["asked"]["maker"], answer["asked"]["part_number"]) == ("Marlow", "B-788")
    assert answer["asked"]["size"]["length_mm"] == 788.0
    assert answer["need"]["top_width_mm"] == 17.0
    assert answer["position"] == "drive_belt"
    assert answer["replaced_by"] is None


def test_contradictory_record_is_a_conflict_and_never_a_plain_yes(ask: Ask) -> None:
    answer = ask("Marlow B-786")
    assert tell(answer) == ("does_not_fit", "unsure", True)
    assert list_kinds(answer) == [("record", "does_not_fit", "list"), ("geometry", "fits", "book")]
    assert "squeals" in answer["evidence"][0]["text"]
    assert answer["measure_next"]


def test_equal_records_that_disagree_are_disputed(ask: Ask) -> None:
    assert tell(ask("Marlow B-DIS")) == ("does_not_fit", "unsure", True)


def test_lower_record_that_disagrees_stands_in_the_evidence(ask: Ask) -> None:
    answer = ask("Marlow B-CON")
    assert tell(answer) == ("fits", "sure", True)
    assert ("record", "does_not_fit", "list") in list_kinds(answer)


def test_size_through_the_drive_and_without_it(ask: Ask) -> None:
    answer = ask("783-17-28")
    assert tell(answer) == ("fits_with_change", "probable", False)
    assert list_kinds(answer) == [("geometry", "fits_with_change", "book")]
    answer = ask("783-17-28", engine="wren-80")  # the centre distance is missing: sizes only
    assert tell(answer) == ("fits_with_change", "unsure", False)
    assert list_kinds(answer) == [("size", "fits_with_change", "book")]
    assert [item["quantity"] for item in answer["measure_next"]] == ["drive"]


def test_engine_without_a_need_is_not_known(ask: Ask) -> None:
    answer = ask("788-17-28", engine="wren-90")
    assert tell(answer) == ("not_known", "unsure", False)
    assert answer["need"] is None
    assert answer["measure_next"]


def test_empty_length_kind_of_a_part_is_outside_with_a_caution(ask: Ask) -> None:
    answer = ask("Marlow B-783")
    assert answer["outcome"] == "fits_with_change"
    assert any("was read as outside" in text for text in answer["cautions"])
    assert any("thickness of the belt asked about is not known" in text for text in answer["cautions"])


def test_stated_kinds_that_differ_are_not_known(ask: Ask) -> None:
    assert tell(ask("Marlow B-790I")) == ("not_known", "unsure", False)
    assert tell(ask("788 Li x 17 x 28")) == ("not_known", "unsure", False)


def test_numbers_of_a_part_come_field_by_field_from_the_best_source(ask: Ask) -> None:
    answer = ask("Marlow B-TWO")
    assert answer["asked"]["size"]["length_mm"] == 788.0
    assert answer["asked"]["size"]["top_width_mm"] == 17.0
    assert answer["outcome"] == "fits"


def test_sizes_of_equally_good_sources_that_disagree_are_a_conflict(ask: Ask) -> None:
    assert tell(ask("Marlow B-RIV")) == ("fits_with_change", "unsure", True)


def test_needs_of_several_sources(ask: Ask) -> None:
    assert tell(ask("Marlow R-7")) == ("fits", "probable", False)
    assert tell(ask("Marlow R-7", engine="wren-80")) == ("fits_with_change", "unsure", True)
    assert tell(ask("Marlow R-7", engine="wren-90")) == ("fits", "probable", True)


def test_rollers_without_a_count_are_judged_and_told_the_count(ask: Ask) -> None:
    for asked in ("Marlow R-X", "16x13 7g"):
        answer = ask(asked)
        assert tell(answer) == ("fits", "probable", False)
        assert any("needs 6" in text for text in answer["cautions"])


def test_superseded_part_is_judged_and_names_next_and_last(ask: Ask) -> None:
    answer = ask("Marlow B-OLDER")
    assert tell(answer) == ("fits", "probable", False)
    assert answer["replaced_by"]["next"]["part_number"] == "B-OLD"
    assert answer["replaced_by"]["last"]["part_number"] == "B-788"  # by the manual, not by habit
    assert answer["replaced_by"]["text"] in answer["cautions"]
    gone = ask("Marlow B-GONE")
    assert gone["replaced_by"] is None
    assert any("no part that replaces it is recorded" in text for text in gone["cautions"])


def test_number_of_several_makers_is_not_known_and_names_them(ask: Ask) -> None:
    answer = ask("77 12 3")
    assert tell(answer) == ("not_known", "unsure", False)
    assert answer["asked"]["kind"] == "part"
    assert answer["asked"]["part_number"] == "77 12 3"
    assert [item["maker"] for item in answer["candidates"]] == ["Dunnock", "Marlow"]
    assert "Dunnock, Marlow" in answer["reasons"][0]["text"]
    assert answer["measure_next"]
    assert ask("Dunnock 77 12 3")["outcome"] == "fits"
    assert ask("Marlow 77-12-3")["outcome"] == "does_not_fit"


@pytest.mark.parametrize(
    ("asked", "number"),
    [
        ("B-788", "B-788"),
        ("b788", "B-788"),
        ("marlow b 788", "B-788"),
        ("MARLOW: B-788", "B-788"),
        ("2000000000008", "B-788"),
        ("]E02000000000008", "B-788"),
    ],
)
def test_spellings_of_one_part(ask: Ask, asked: str, number: str) -> None:
    assert ask(asked)["asked"]["part_number"] == number


def test_position_of_a_record_is_taken_when_none_is_given(ask: Ask) -> None:
    answer = ask("Marlow O-34")
    assert answer["position"] == "shaft_o_ring"
    assert any("shaft o ring" in text for text in answer["cautions"])
    assert ask("Marlow W-1")["position"] == "drive_boss"


def test_without_position_and_record_all_places_of_the_type_are_judged(ask: Ask) -> None:
    answer = ask("Marlow O-40")
    assert (answer["position"], answer["outcome"]) == ("torque_driver_o_ring", "fits")
    assert [(item["position"], item["outcome"]) for item in answer["positions"]] == [
        ("torque_driver_o_ring", "fits"),
        ("shaft_o_ring", "does_not_fit"),
    ]
    assert any("No position was given" in text for text in answer["cautions"])


def test_position_given_decides(ask: Ask) -> None:
    assert ask("Marlow O-40", "shaft_o_ring")["outcome"] == "does_not_fit"
    assert ask("Marlow O-40", "Shaft O-ring")["position"] == "shaft_o_ring"


def test_part_without_a_place_of_its_own_asks_for_the_position(ask: Ask) -> None:
    answer = ask("Marlow W-1", engine="wren-80")
    assert tell(answer) == ("not_known", "unsure", False)
    assert (answer["position"], answer["measure_next"][0]["quantity"]) == (None, "position")


def test_other_positions_are_judged_by_record_only(ask: Ask) -> None:
    assert tell(ask("Marlow V-1")) == ("fits", "probable", False)
    assert tell(ask("Marlow V-2")) == ("does_not_fit", "probable", False)
    assert tell(ask("Marlow V-3")) == ("not_known", "unsure", False)
    assert ask("Marlow V-3")["measure_next"]


def test_part_of_another_type_does_not_fit(ask: Ask) -> None:
    answer = ask("Marlow B-788", "rollers")
    assert (answer["outcome"], answer["reasons"][0]["rule"]) == ("does_not_fit", "part.type")


def test_nuts_and_threads(ask: Ask) -> None:
    assert tell(ask("Marlow N-17", "crank_nut")) == ("fits", "probable", False)
    assert tell(ask("Marlow N-14", "crank_nut")) == ("fits_with_change", "probable", False)
    assert tell(ask("Marlow N-17", "clutch_nut")) == ("does_not_fit", "probable", False)
    assert tell(ask("Marlow N-L", "clutch_nut")) == ("fits", "probable", False)
    assert tell(ask("M28x1", "clutch_nut")) == ("does_not_fit", "probable", False)
    unknown_hand = ask("Marlow N-17", "bell_nut")
    assert tell(unknown_hand) == ("not_known", "unsure", False)
    assert unknown_hand["measure_next"][0]["quantity"] == "hand"
    bare = ask("M10x1.25", "crank_nut")
    assert tell(bare) == ("fits", "unsure", False)
    assert bare["measure_next"][0]["quantity"] == "across_flats_mm"


def test_springs_bearings_and_seals(ask: Ask) -> None:
    assert tell(ask("Marlow CS-15")) == ("fits", "probable", False)
    assert tell(ask("Marlow CS-20")) == ("fits_with_change", "probable", False)
    assert tell(ask("Marlow CS-2")) == ("does_not_fit", "probable", False)
    assert tell(ask("Marlow T-2")) == ("fits_with_change", "probable", False)
    assert tell(ask("Marlow K-1")) == ("fits", "probable", False)
    assert tell(ask("6201-2RS C3", "cover_bearing")) == ("fits", "probable", False)  # 12 x 32 x 10, ISO 15
    assert tell(ask("6201-2RS", "cover_bearing")) == ("fits_with_change", "probable", False)
    assert tell(ask("34x41x4", "torque_driver_seal")) == ("fits", "probable", False)


def test_every_reading_of_an_ambiguous_size_is_judged_and_none_chosen(ask: Ask) -> None:
    answer = ask("788-28-28")
    assert answer["outcome"] == "does_not_fit"
    answer = ask("788-28")  # 28 may be the width, or the angle with the width left out
    assert tell(answer) == ("not_known", "unsure", False)
    assert answer["reasons"][0]["rule"] == "part.reading"
    assert [item["outcome"] for item in answer["readings"]] == ["does_not_fit", "not_known"]
    assert {item["quantity"] for item in answer["measure_next"]} == {"top_width_mm", "angle_deg"}
    answer = ask("16x13 6", "rollers")
    assert tell(answer) == ("not_known", "unsure", False)
    assert {item["quantity"] for item in answer["measure_next"]} == {"mass_g", "count"}


def test_ambiguous_size_that_fits_in_no_reading_does_not_fit(ask: Ask) -> None:
    answer = ask("1000-24-28")
    assert tell(answer) == ("does_not_fit", "probable", False)
    assert len(answer["readings"]) == 2


@pytest.mark.parametrize(
    ("engine", "asked", "position", "named"),
    [
        ("wren-5", "788-17-28", None, "wren-50"),
        ("wren-50", "788-17-28", "drive_bolt", "drive_belt"),
        ("wren-50", "Marlo B-788", None, "Marlow"),
        ("wren-50", "Marlow B-78", None, "B-788"),
        ("wren-50", "Marlo 788-17-28", None, "Marlow"),
    ],
)
def test_unknown_name_is_refused_in_one_line_with_the_nearest(
    catalogue: Engine, engine: str, asked: str, position: str | None, named: str
) -> None:
    with open_reader(catalogue) as session, pytest.raises(NotFound) as refusal:
        does_part_fit(session, FitQuestion(engine, asked, position))
    assert named in str(refusal.value)
    assert "\n" not in str(refusal.value)


def test_known_maker_without_that_part_is_not_answered_by_the_size_alone(catalogue: Engine) -> None:
    with (
        open_reader(catalogue) as session,
        pytest.raises(NotFound, match="of Marlow is not in the catalogue"),
    ):
        does_part_fit(session, FitQuestion("wren-50", "Marlow 788-17-28"))


def test_trade_words_before_a_size_are_passed_over(ask: Ask) -> None:
    assert ask("drive belt 788-17-28")["outcome"] == "fits"
    answer = ask("grandfather's belt 788-17-28")
    assert answer["outcome"] == "fits"
    assert any("grandfather" in text for text in answer["cautions"])


@pytest.mark.parametrize("asked", ["16x13", "20x35x7"])
def test_sizes_of_several_kinds_ask_for_the_position(catalogue: Engine, asked: str) -> None:
    with open_reader(catalogue) as session, pytest.raises(BadNotation, match="Say at which position"):
        does_part_fit(session, FitQuestion("wren-50", asked))


@pytest.mark.parametrize("asked", ["", "   ", "x" * 201, "788\x0017", "\ud800", "120/70-12"])
def test_text_that_cannot_be_asked_is_refused(catalogue: Engine, asked: str) -> None:
    with open_reader(catalogue) as session, pytest.raises(BadInput):
        does_part_fit(session, FitQuestion("wren-50", asked))


def test_size_at_a_position_judged_by_records_only_is_refused(catalogue: Engine) -> None:
    with open_reader(catalogue) as session, pytest.raises(BadInput, match="fit records only"):
        does_part_fit(session, FitQuestion("wren-50", "788-17-28", "variator"))


def test_answer_is_json_of_the_documented_shape(ask: Ask) -> None:
    answer = ask("Marlow B-783")
    assert list(answer)[:12] == [
        "outcome",
        "certainty",
        "engine",
        "position",
        "asked",
        "need",
        "reasons",
        "consequences",
        "evidence",
        "measure_next",
        "conflict",
        "alternatives",
    ]
    assert set(answer["reasons"][0]) == {"rule", "outcome", "value", "limit", "unit", "text", "source"}
    assert set(answer["consequences"][0]) == {"quantity", "change_percent", "text"}
    assert {"kind", "outcome", "source", "text"} <= set(answer["evidence"][0])
    assert {"maker", "part_number", "outcome", "on_hand", "why"} <= set(answer["alternatives"][0])
    assert json.loads(json.dumps(answer, allow_nan=False)) == answer


def test_every_part_at_every_position_keeps_the_promises_of_the_answer(demo_engine: Engine) -> None:
    """What is open or unsure says what to measure; what is sure has a strong record; no alternative fails."""
    with open_reader(demo_engine) as session:
        for engine in ("plover-50-s", "godwit-180", "dunlin-50-e"):
            for asked in ("669-18-30", "16x13 6.5g x 6", "M10x1.25", "6201-2RS", "3 x 1500 rpm"):
                _check_promises(shape_verdict(does_part_fit(session, FitQuestion(engine, asked))))


def _check_promises(answer: dict[str, Any]) -> None:
    if answer["outcome"] == "not_known" or answer["certainty"] == "unsure":
        assert answer["measure_next"], answer
    assert answer["certainty"] != "sure" or answer["evidence"][0]["kind"] == "record"
    assert all(item["outcome"] in ("fits", "fits_with_change") for item in answer["alternatives"])
    json.dumps(answer, allow_nan=False)
