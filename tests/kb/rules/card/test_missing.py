"""What a job lacks is said before it is started. Wording: judgement of this project."""

from kb.rules.card.fasteners import build_fasteners
from kb.rules.card.missing import (
    list_disagreements,
    list_missing_facts,
    list_missing_parts,
    list_torque_warnings,
)
from kb.rules.card.values import CardLimit, CardPart, StatedFastener
from kb.rules.fit.values import PartRef
from kb.rules.gauge_values import GaugeLimit
from kb.rules.source import SourceRef
from kb.rules.tools.torque_band import TorqueBand
from kb.terms import FastenerDrive, Hand, Outcome, Position, SourceKind

MANUAL = SourceRef("manual", SourceKind.MANUAL, "Book")
NOTE = SourceRef("note", SourceKind.MANUAL, "Note")


def facts(*rows, limits=()):
    positions = [row.position for row in rows] or [Position.CRANK_NUT]
    return list(list_missing_facts(build_fasteners(rows, positions), positions, limits))


def test_a_position_of_which_nothing_is_recorded_is_named():
    assert facts() == ["Nothing is recorded of the crank nut: size, hand and torque are not known."]


def test_each_unknown_fact_is_named():
    assert facts(StatedFastener(Position.BELL_NUT, MANUAL, thread="M10x1.25")) == [
        "Torque of the bell nut is not known; look it up in the maker's manual. Upper sanity limit 76.2 N·m "
        "(generic, class 10.9 assumed; not a manual value), not a torque to use.",
        "Hand of the thread of the bell nut is not known; look before applying force.",
        "Shape of the head of the bell nut is not known; look before choosing a tool.",
        "Width across flats of the bell nut is not known; measure it.",
        "How to hold the bell nut is not recorded.",
    ]


def test_a_complete_fastener_lacks_nothing():
    complete = StatedFastener(
        Position.COVER_SCREWS,
        MANUAL,
        thread="M6",
        hand=Hand.RIGHT,
        drive=FastenerDrive.HEX,
        across_flats_mm=8.0,
        torque=TorqueBand(nominal_nm=10),
    )
    assert facts(complete) == []


def test_a_limit_that_is_not_known_is_named():
    limit = CardLimit(Position.DRIVE_BELT, "top_width", GaugeLimit(nominal=18.0))
    assert facts(limits=[limit])[-1] == "Limit of top width at the drive belt is not known."


def test_disagreeing_sources_are_both_quoted_and_none_is_chosen():
    rows = [
        StatedFastener(Position.CRANK_NUT, MANUAL, torque=TorqueBand(nominal_nm=38)),
        StatedFastener(Position.CRANK_NUT, NOTE, torque=TorqueBand(nominal_nm=43)),
    ]
    (said,) = list_disagreements(build_fasteners(rows, [Position.CRANK_NUT]))
    assert "38 N·m" in said
    assert "43 N·m" in said
    assert "maker's manual: Book" in said
    assert "maker's manual: Note" in said
    assert "None is chosen" in said


def test_a_torque_that_does_not_suit_its_thread_is_warned_of():
    row = StatedFastener(Position.CRANK_NUT, MANUAL, thread="M12x1.25", torque=TorqueBand(nominal_nm=550))
    (said,) = list_torque_warnings(build_fasteners([row], [Position.CRANK_NUT]))
    # 550 kgf·cm = 53.9 N·m by definition.
    assert "550 kgf·cm, it is 53.9 N·m" in said


def test_a_part_that_is_short_names_one_on_the_shelf():
    other = CardPart(Position.ROLLERS, PartRef("B", "2"), Outcome.FITS_WITH_CHANGE, 3, 1)
    short = CardPart(Position.ROLLERS, PartRef("A", "1"), Outcome.FITS, 1, 2, others=(other,))
    unknown = CardPart(Position.SLIDERS, None, Outcome.NOT_KNOWN, 0, 1)
    assert list(list_missing_parts([short, unknown, other])) == [
        "Part for rollers: only 1 of 2 on hand (A 1). On the shelf: B 2, would do with a change.",
        "No part is known to do as sliders.",
    ]
