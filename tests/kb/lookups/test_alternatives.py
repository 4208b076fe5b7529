"""What else would do: never what does not fit, nothing better lost, superseded numbers only to sell down.

Expected answers: documented rules of this project (judgement).
"""

from collections.abc import Callable
from dataclasses import replace
from itertools import islice
from typing import Any

import pytest
from sqlalchemy import Engine

from kb.database import open_reader
from kb.errors import NotFound
from kb.lookups import alternatives
from kb.lookups.alternatives import AlternativesAnswer, list_alternatives
from kb.rules.fit.settings import FitLimits

Ask = Callable[..., dict[str, Any]]
LoadFiles = Callable[..., Any]


def list_for(engine: Engine, position: str, code: str = "wren-50") -> AlternativesAnswer:
    with open_reader(engine) as session:
        return list_alternatives(session, code, position)


def list_numbers(engine: Engine, position: str, code: str = "wren-50") -> list[str]:
    return [item.part.part_number for item in list_for(engine, position, code).alternatives]


def test_belts_that_would_do_in_their_order(catalogue: Engine) -> None:
    """B-OLD is on the shelf; the others have no stock and no price and stand by maker and number."""
    assert list_numbers(catalogue, "drive_belt") == [
        "B-OLD",
        "77 12 3",
        "B-788",
        "B-CON",
        "B-TWO",
        "B-783",
        "B-RIV",
    ]


def test_never_one_that_does_not_fit(catalogue: Engine) -> None:
    for position in ("drive_belt", "rollers", "crank_nut", "clutch_springs", "contra_spring", "variator"):
        answer = list_for(catalogue, position)
        assert answer.alternatives
        assert {str(item.outcome) for item in answer.alternatives} <= {"fits", "fits_with_change"}


@pytest.mark.parametrize(
    ("position", "numbers"),
    [
        ("rollers", ["R-7", "R-X", "R-6"]),
        ("crank_nut", ["N-17", "N-14"]),
        ("clutch_nut", ["N-L"]),
        ("bell_nut", []),  # the hand of the engine's thread is not known
        ("clutch_springs", ["CS-15", "CS-20", "CS-32"]),
        ("contra_spring", ["T-1", "T-2"]),
        ("cover_bearing", ["K-1"]),
        ("torque_driver_seal", ["S-1"]),
        ("shaft_o_ring", ["O-34"]),
        ("torque_driver_o_ring", ["O-40"]),
        ("variator", ["V-1"]),  # by record; its substitute has none
        ("drive_boss", ["W-1"]),
        ("clutch_bell", []),
    ],
)
def test_alternatives_at_each_kind_of_position(catalogue: Engine, position: str, numbers: list[str]) -> None:
    assert list_numbers(catalogue, position) == numbers


def test_superseded_number_is_listed_only_while_on_the_shelf_and_says_what_follows(catalogue: Engine) -> None:
    answer = list_for(catalogue, "drive_belt")
    old = next(item for item in answer.alternatives if item.part.part_number == "B-OLD")
    assert old.on_hand == 2
    assert "Superseded by Marlow B-788: sell down." in old.why
    assert "B-OLDER" not in [item.part.part_number for item in answer.alternatives]


def test_part_asked_about_is_no_alternative_to_itself(ask: Ask) -> None:
    numbers = [item["part_number"] for item in ask("Marlow B-788")["alternatives"]]
    assert "B-788" not in numbers
    assert "B-TWO" in numbers


def test_recorded_replacement_leads_to_a_part_that_the_range_would_not_find(
    own_catalogue: Engine, load_files: LoadFiles
) -> None:
    """The substitute states no size: only its fit record says that it does."""
    head = "maker,part_number,part_type,source\n"
    load_files(
        own_catalogue,
        parts=f"{head}Marlow,B-SUB,drive_belt,list\nMarlow,B-SAME,drive_belt,list\n",
        replacements=(
            "maker,part_number,by_maker,by_part_number,kind,source\n"
            "Marlow,B-900,Marlow,B-788,substitute,list\nMarlow,B-SAME,Marlow,B-900,same_size,list\n"
        ),
        fits=(
            "maker,part_number,engine,position,outcome,source\n"
            "Marlow,B-SUB,wren-90,drive_belt,fits_with_change,bench\n"
        ),
    )
    assert list_numbers(own_catalogue, "drive_belt", "wren-90") == ["B-SUB"]
    assert "B-788" in list_numbers(own_catalogue, "drive_belt")


def test_shortlist_keeps_the_one_that_is_on_the_shelf_among_many_equals(
    own_catalogue: Engine, load_files: LoadFiles, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(alternatives, "MOST_ALTERNATIVES", 5)
    many = "".join(f"Zenith,Z-{n:03},drive_belt,788,outside,17,28,8.5,list\n" for n in range(40))
    load_files(
        own_catalogue,
        parts=f"maker,part_number,part_type,length_mm,length_kind,top_width_mm,angle_deg,thickness_mm,source\n{many}",
        stock="location,maker,part_number,on_hand,counted_on\nshop,Zenith,Z-037,9,2026-01-31\n",
        suppliers="supplier,name,currency\nmill,Mill,EUR\n",
        offers="supplier,maker,part_number,price,currency\nmill,Zenith,Z-031,7.50,EUR\nmill,Zenith,Z-022,9.00,EUR\n",
    )
    assert list_numbers(own_catalogue, "drive_belt") == ["Z-037", "B-OLD", "Z-031", "Z-022", "77 12 3"]


def test_shortlist_goes_on_where_records_spoil_the_nearest(
    own_catalogue: Engine, load_files: LoadFiles, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The nearest sizes are all recorded as not fitting; the next ones are offered instead."""
    monkeypatch.setattr(alternatives, "MOST_ALTERNATIVES", 4)
    numbers = [f"Z-{n:03}" for n in range(30)]
    rows = "".join(f"Zenith,{number},drive_belt,788,outside,17,28,8.5,list\n" for number in numbers)
    spoilt = "".join(f"Zenith,{number},wren-50,drive_belt,does_not_fit,bench\n" for number in numbers[:28])
    load_files(
        own_catalogue,
        parts=f"maker,part_number,part_type,length_mm,length_kind,top_width_mm,angle_deg,thickness_mm,source\n{rows}",
        fits=f"maker,part_number,engine,position,outcome,source\n{spoilt}",
    )
    found = list_numbers(own_catalogue, "drive_belt")
    assert found == ["B-OLD", "77 12 3", "B-788", "B-CON"]
    with open_reader(own_catalogue) as session:
        more = list_alternatives(session, "wren-50", "drive_belt", limits=replace(FitLimits()))
    assert [item.part.part_number for item in islice(more.alternatives, 4)] == found


def test_part_whose_numbers_two_sources_share_is_found(catalogue: Engine) -> None:
    assert "B-TWO" in list_numbers(catalogue, "drive_belt")


def test_need_without_an_angle_still_finds_belts_through_the_drive(
    own_catalogue: Engine, load_files: LoadFiles
) -> None:
    load_files(
        own_catalogue,
        engines="engine,family,name,source\nwren-70,wren,Wren 70,book\n",
        drives=(
            "engine,centre_distance_mm,cord_depth_mm,drive_angle_deg,drive_outer_radius_mm,"
            "drive_boss_radius_mm,drive_gap_radius_mm,drive_gap_open_mm,drive_gap_closed_mm,driven_angle_deg,driven_outer_radius_mm,"
            "driven_boss_radius_mm,driven_gap_radius_mm,driven_gap_open_mm,driven_gap_closed_mm,source\n"
            "wren-70,260,2,28,48.5,14,48.5,28.85,17.75,28,59.5,22,59.5,29.7,15.25,bench\n"
        ),
        belt_needs="engine,length_mm,length_kind,top_width_mm,thickness_mm,source\nwren-70,788,outside,17,8.5,book\n",
    )
    assert "B-788" in list_numbers(own_catalogue, "drive_belt", "wren-70")


def test_unknown_engine_or_position_is_refused(catalogue: Engine) -> None:
    with open_reader(catalogue) as session:
        with pytest.raises(NotFound, match="wren-50"):
            list_alternatives(session, "wren-51", "drive_belt")
        with pytest.raises(NotFound, match="rollers"):
            list_alternatives(session, "wren-50", "roller")


def test_belts_of_the_demo_are_those_of_a_pass_over_all_of_them(demo_engine: Engine) -> None:
    """The range query and the early end lose no part that a verdict on every belt would find."""
    from kb.lookups.alternatives import MOST_ALTERNATIVES
    from kb.lookups.engines import get_engine
    from kb.lookups.fit import DEFAULT_LIMITS, list_records
    from kb.lookups.parts import find_parts
    from kb.lookups.places import get_place
    from kb.lookups.shelf import find_on_hand
    from kb.rules.fit.values import Asked
    from kb.rules.fit.verdict import PlaceJudge
    from kb.tables.columns import get_table
    from kb.terms import Position

    with open_reader(demo_engine) as session:
        belts = find_parts(session, get_table("part").c.part_type == "drive_belt", limit=100_000)
        on_hand = find_on_hand(session, [belt.id for belt in belts])
        for code in ("plover-50-s", "dunlin-50-e", "godwit-180"):
            engine = get_engine(session, code)
            judge = PlaceJudge(get_place(session, engine, Position.DRIVE_BELT), DEFAULT_LIMITS)
            would_do = set()
            for belt in belts:
                asked = Asked(belt.size, belt.ref, rival_sizes=belt.rival_sizes)
                records = [record for _, record in list_records(session, belt.id, engine.id)]
                if judge.judge(asked, records).outcome in ("fits", "fits_with_change"):
                    would_do.add((belt.ref.maker, belt.ref.part_number))
            listed = list_alternatives(session, code, "drive_belt").alternatives
            found = {(item.part.maker, item.part.part_number) for item in listed}
            assert len(would_do) < MOST_ALTERNATIVES
            assert found <= would_do
            missing = would_do - found  # superseded and not on the shelf, nothing else
            assert all(
                belt.ref.status == "superseded" and belt.id not in on_hand
                for belt in belts
                if (belt.ref.maker, belt.ref.part_number) in missing
            )
