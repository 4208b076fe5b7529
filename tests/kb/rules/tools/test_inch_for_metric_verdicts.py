"""The forty usual pairs of metric nut and inch tool.

Sources: computed from openings of ASME B18.2.2 (published), ISO 691 (from memory) and nut limits of ISO
4759-1 in a calculation apart from this program; the classes are a judgement of this project. A published
article on width across flats calls 3/4 and 19, 5/16 and 8, 5/32 and 4 interchangeable for most purposes.
"""

import pytest

from kb.rules.tools.inch_for_metric import MEASURE_TEXT, InchAnswer, rank_inch_tool
from kb.standards.inch_hexes import list_inch_hexes

INCH_BY_SIZE = {row.size: row for row in list_inch_hexes()}


def answer_of(metric_mm: float, inch_size: str) -> InchAnswer:
    answer = rank_inch_tool(metric_mm, INCH_BY_SIZE[inch_size])
    assert answer is not None
    return answer


@pytest.mark.parametrize(
    ("metric_mm", "inch_size", "nut_smallest_mm", "free_turns", "verdict"),
    [  # free turns in degrees: of the inch tool, of the right tool
        (4.0, "5/32", 3.82, (9.8, 9.1), "near"),
        (5.0, "3/16", 4.82, (2.9, 6.9), "tight_try"),
        (5.5, "7/32", 5.32, (9.1, 6.2), "reject"),
        (7.0, "9/32", 6.78, (9.7, 6.0), "reject"),
        (8.0, "5/16", 7.78, (5.2, 5.1), "near"),
        (9.0, "11/32", 8.78, (2.2, 4.5), "tight_try"),
        (10.0, "3/8", 9.78, (0.0, 4.5), "no_go"),
        (11.0, "7/16", 10.73, (6.1, 4.6), "reject"),
        (12.0, "1/2", 11.73, (13.0, 4.6), "reject"),
        (13.0, "1/2", 12.73, (1.8, 4.3), "tight_try"),
        (14.0, "9/16", 13.73, (6.6, 4.2), "reject"),
        (15.0, "19/32", 14.73, (4.6, 3.9), "loose_hand_only"),
        (16.0, "5/8", 15.73, (2.8, 3.6), "try"),
        (17.0, "11/16", 16.73, (6.8, 3.6), "reject"),
        (18.0, "11/16", 17.73, (0.1, 3.4), "tight_try"),
        (18.0, "3/4", 17.73, (11.2, 3.4), "reject"),
        (19.0, "3/4", 18.67, (4.0, 3.9), "near"),
        (20.0, "25/32", 19.67, (2.6, 3.7), "try"),
        (21.0, "13/16", 20.67, (1.5, 3.5), "tight_try"),
        (22.0, "7/8", 21.67, (4.3, 3.3), "reject"),
        (23.0, "15/16", 22.67, (7.6, 3.2), "reject"),
        (24.0, "15/16", 23.67, (2.3, 3.0), "try"),
        (24.0, "1", 23.67, (10.6, 3.0), "reject"),
        (27.0, "1-1/16", 26.16, (4.9, 5.5), "equal"),
        (28.0, "1-1/8", 27.16, (7.7, 5.2), "reject"),
        (29.0, "1-1/8", 28.16, (3.1, 5.0), "try"),
        (30.0, "1-3/16", 29.16, (5.3, 4.9), "near"),
        (32.0, "1-1/4", 31.0, (4.0, 5.1), "try"),
        (33.0, "1-5/16", 32.0, (6.2, 5.4), "loose_hand_only"),
        (34.0, "1-5/16", 33.0, (2.5, 5.2), "tight_try"),
        (34.0, "1-3/8", 33.0, (8.3, 5.2), "reject"),
        (35.0, "1-3/8", 34.0, (4.4, 5.1), "equal"),
        (36.0, "1-7/16", 35.0, (6.3, 4.9), "reject"),
        (38.0, "1-1/2", 37.0, (4.6, 4.6), "near"),
        (39.0, "1-1/2", 38.0, (1.6, 4.5), "tight_try"),
        (39.0, "1-9/16", 38.0, (6.4, 4.5), "reject"),
        (40.0, "1-9/16", 39.0, (3.2, 4.4), "try"),
        (41.0, "1-5/8", 40.0, (4.8, 4.2), "loose_hand_only"),
        (42.0, "1-11/16", 41.0, (6.4, 4.1), "reject"),
        (46.0, "1-13/16", 45.0, (3.8, 3.7), "near"),
    ],
)
def test_pair_has_the_computed_verdict(metric_mm, inch_size, nut_smallest_mm, free_turns, verdict):
    answer = answer_of(metric_mm, inch_size)
    assert answer.verdict == verdict
    assert answer.fit.nut_smallest_mm == pytest.approx(nut_smallest_mm, abs=0.006)
    assert (answer.free_turn_deg, answer.right_tool_free_turn_deg) == pytest.approx(free_turns, abs=0.051)
    assert answer.measure
    assert MEASURE_TEXT in answer.text


@pytest.mark.parametrize(("metric_mm", "inch_size"), [(19.0, "3/4"), (8.0, "5/16"), (4.0, "5/32")])
def test_pair_that_a_published_article_calls_interchangeable_is_near(metric_mm, inch_size):
    assert answer_of(metric_mm, inch_size).verdict == "near"
