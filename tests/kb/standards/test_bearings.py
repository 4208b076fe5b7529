"""ISO 15 dimensions of common bearings (from memory, as printed in any bearing list)."""

import pytest

from kb.standards.bearings import find_bearing_dimensions, list_bearing_dimensions
from kb.standards.o_rings import find_o_ring_dimensions, list_o_ring_dimensions


@pytest.mark.parametrize(
    ("code", "envelope"),
    [
        ("6000", (10, 26, 8)),
        ("6204", (20, 47, 14)),
        ("6301", (12, 37, 12)),
        ("608", (8, 22, 7)),
        ("6902", (15, 28, 7)),
        ("61902", (15, 28, 7)),
        ("HK2016", (20, 26, 16)),
    ],
)
def test_envelope_of_common_bearings(code, envelope):
    row = find_bearing_dimensions(code)
    assert (row.bore_mm, row.od_mm, row.width_mm) == envelope


def test_unlisted_code_is_not_found():
    assert find_bearing_dimensions("6299") is None


def test_every_row_is_possible_and_names_its_source():
    for row in list_bearing_dimensions():
        assert 0 < row.bore_mm < row.od_mm
        assert row.width_mm > 0
        assert row.source
    assert len(list_bearing_dimensions()) == 73


def test_wider_series_are_larger_for_the_same_bore():
    # ISO 15: diameter series 8, 9, 0, 2, 3 grow in this order.
    outside = [find_bearing_dimensions(f"{series}04").od_mm for series in ("68", "69", "60", "62", "63")]
    assert outside == sorted(set(outside))


def test_deep_groove_bores_follow_the_code():
    bores = {"00": 10, "01": 12, "02": 15, "03": 17, "04": 20, "05": 25, "06": 30, "07": 35, "08": 40}
    for row in list_bearing_dimensions():
        if len(row.trade_code) == 4:
            assert row.bore_mm == bores[row.trade_code[-2:]], row.code


# AS568-013: 0.426 x 0.070 in, agrees with a published table of ISO 3601 sizes; the others from memory.
@pytest.mark.parametrize(
    ("code", "size"),
    [("AS568-013", (10.82, 1.78)), ("AS568-214", (24.99, 3.53)), ("P15", (14.8, 2.4)), ("P22A", (21.7, 3.5))],
)
def test_o_ring_codes(code, size):
    row = find_o_ring_dimensions(code)
    assert (row.id_mm, row.section_mm) == size
    assert find_o_ring_dimensions("P999") is None


def test_o_rings_of_one_series_grow_and_name_their_source():
    rows = list_o_ring_dimensions()
    assert all(row.source for row in rows)
    for section_mm in {row.section_mm for row in rows}:
        inside = [row.id_mm for row in rows if row.section_mm == section_mm]
        assert inside == sorted(set(inside))
