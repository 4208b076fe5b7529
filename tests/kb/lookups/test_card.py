"""The bench card over the demo catalogue and over small ones with gaps."""

import pytest
from sqlmodel import Session

from kb.errors import NotFound
from kb.lookups.card import build_card
from kb.lookups.jobs import get_job, list_jobs
from kb.rules.tools.cautions import (
    COMPRESSED_SPRING,
    IMPACT_TOOL,
    TORQUE_FOLLOWS_MANUAL,
    TORQUE_NOT_KNOWN,
)
from kb.terms import Hand, Outcome, Position

SPRING_POSITIONS = (Position.CLUTCH_NUT, Position.CONTRA_SPRING, Position.TORQUE_DRIVER, Position.GUIDE_PINS)
SHAFT_NUTS = (Position.CRANK_NUT, Position.BELL_NUT, Position.CLUTCH_NUT)


@pytest.fixture
def card(demo_engine):
    def build(engine, job):
        with Session(demo_engine) as session:
            return build_card(session, engine, job)

    return build


def list_all_cards(demo_engine):
    from kb.lookups.engines import list_engines

    with Session(demo_engine) as session:
        engines, _ = list_engines(session, limit=200)
        for engine in engines:
            for job in list_jobs(session):
                yield build_card(session, engine.engine, job.job)


def test_clutch_nut_asks_for_a_socket_that_is_not_owned_and_names_the_stand_in(card):
    found = card("plover-50-s", "clutch")
    (socket,) = [tool for tool in found.tools if tool.size_mm == 38.0]
    assert (socket.owned, socket.stand_in) == (False, "socket 1-1/2 in")
    assert any("'socket 1-1/2 in' may stand in" in text for text in found.missing)


def test_left_hand_bell_nut_and_unknown_torque_are_shown(card):
    found = card("bittern-300-e", "full_drive_service")
    by_position = {item.stated.position: item for item in found.fasteners}
    assert by_position[Position.BELL_NUT].hand is Hand.LEFT
    screws = by_position[Position.AIRBOX_SCREWS]
    assert not screws.stated.torque.is_known
    assert TORQUE_NOT_KNOWN in screws.cautions
    assert any(text.startswith("Torque of the airbox screws is not known") for text in found.missing)


def test_single_use_nut_is_a_part_to_have_ready(card):
    found = card("bittern-300-e", "full_drive_service")
    assert Position.BELL_NUT in [part.position for part in found.parts]


def test_unknown_hand_is_missing(card):
    found = card("dunlin-50-e", "clutch")
    assert any(text.startswith("Hand of the thread of the bell nut") for text in found.missing)


def test_slotted_ring_nut_needs_a_tool_that_is_not_owned(card):
    found = card("dotterel-100-l", "clutch")
    assert ("ring nut wrench 4 slots", False) in [(tool.tool, tool.owned) for tool in found.tools]


def test_two_manuals_with_two_torques_stand_side_by_side(card):
    found = card("plover-50-l", "rollers")
    rows = [item for item in found.fasteners if item.stated.position is Position.CRANK_NUT]
    assert [(item.stated.torque.nominal_nm, item.stated.source.source) for item in rows] == [
        (38.0, "man-plover"),
        (43.0, "man-plover-note"),
    ]
    assert len(found.disagreements) == 1


def test_every_torque_spring_and_impact_record_of_every_card_carries_its_caution(demo_engine):
    torques = springs = impacts = 0
    for card in list_all_cards(demo_engine):
        for item in card.fasteners:
            torques += 1
            wanted = TORQUE_FOLLOWS_MANUAL if item.stated.torque.is_known else TORQUE_NOT_KNOWN
            assert wanted in item.cautions, (card.engine, card.job, item.stated.position)
        for step in card.steps:
            place = step.job_step.position
            for figure in step.figures:
                assert {TORQUE_FOLLOWS_MANUAL, TORQUE_NOT_KNOWN} & set(step.cautions), figure
            if place in SPRING_POSITIONS:
                springs += 1
                assert COMPRESSED_SPRING in step.cautions, (card.job, step.job_step.step)
            if place in SHAFT_NUTS:
                impacts += 1
                assert IMPACT_TOOL in step.cautions, (card.job, step.job_step.step)
    assert min(torques, springs, impacts) > 100


def test_parts_say_what_is_needed_and_where_it_lies(card):
    found = card("plover-50-s", "belt_service")
    belt = next(part for part in found.parts if part.position is Position.DRIVE_BELT)
    assert belt.outcome is Outcome.FITS
    assert belt.on_hand == sum(count for _, count in belt.places)
    assert belt.needed == 1


def test_unknown_job_and_engine_name_the_nearest(demo_engine):
    with Session(demo_engine) as session:
        with pytest.raises(NotFound, match="'belt_service'") as job:
            build_card(session, "plover-50-s", "belt_servise")
        assert job.value.nearest[0] == "belt_service"
        with pytest.raises(NotFound, match="plover-50-s"):
            build_card(session, "plover-50-x", "clutch")


def test_a_job_is_found_by_its_title(demo_engine):
    with Session(demo_engine) as session:
        assert get_job(session, "change the drive belt").job == "belt_service"


def test_engine_without_fasteners_and_shop_without_tools(database, load_files):
    load_files(
        database,
        engines="engine\nteal-50\n",
        jobs="job\nnut\n",
        job_steps="job,step,text,position,fastener,tool,consumable\n"
        "nut,1,Tighten it.,crank_nut,1,pin spanner,Brake cleaner\n",
        parts="maker,part_number,part_type,description\nMarlow,C 1,consumable,brake cleaner 500 ml\n",
    )
    with Session(database) as session:
        found = build_card(session, "teal-50", "nut")
    assert found.fasteners == ()
    assert found.missing == (
        "Nothing is recorded of the crank nut: size, hand and torque are not known.",
        "Tool 'pin spanner' is not owned (for crank nut).",
    )
    assert IMPACT_TOOL in found.steps[0].cautions
    assert [article.part.part_number for article in found.consumables[0].articles] == ["C 1"]


def test_job_without_steps_is_an_empty_card(sqlite_engine, load_files):
    load_files(sqlite_engine, engines="engine\nteal-50\n", jobs="job\nnut\n")
    with Session(sqlite_engine) as session:
        found = build_card(session, "teal-50", "nut")
    assert (found.steps, found.fasteners, found.tools) == ((), (), ())
