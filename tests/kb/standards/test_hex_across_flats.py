"""Sources: ISO 4032 and DIN 475-1 (published tables), bd-warehouse 0.4.0 (tables of a parts package)."""

import pytest

from kb.standards.hex_across_flats import find_hexagons, list_hexagons


def sizes_of(standard: str) -> dict[str, float]:
    return {row.thread: row.across_flats_mm for row in list_hexagons() if row.standard.startswith(standard)}


@pytest.mark.parametrize(
    ("thread", "largest", "smallest", "corners"),
    [  # published ISO 4032 table: s max = nominal, s min, e min
        ("M3", 5.5, 5.32, 6.01),
        ("M6", 10.0, 9.78, 11.05),
        ("M8", 13.0, 12.73, 14.38),
        ("M10", 16.0, 15.73, 17.77),
        ("M12", 18.0, 17.73, 20.03),
        ("M16", 24.0, 23.67, 26.75),
        ("M20", 30.0, 29.16, 32.95),
        ("M24", 36.0, 35.0, 39.55),
        ("M36", 55.0, 53.8, 60.79),
    ],
)
def test_iso_4032_nut_has_published_limits(thread, largest, smallest, corners):
    (nut,) = [row for row in find_hexagons(thread) if row.standard == "ISO 4032"]
    assert (nut.largest_mm, nut.smallest_mm, nut.smallest_across_corners_mm) == (largest, smallest, corners)
    assert "published" in nut.source


@pytest.mark.parametrize(
    ("thread", "before", "now"),
    [  # the change of ISO 272:1982, published comparison
        ("M10", 17.0, 16.0),
        ("M12", 19.0, 18.0),
        ("M14", 22.0, 21.0),
        ("M22", 32.0, 34.0),
    ],
)
def test_thread_whose_head_changed_has_both_sizes(thread, before, now):
    sizes = {row.across_flats_mm for row in find_hexagons(thread)}
    assert {before, now} <= sizes


# bd-warehouse 0.4.0 (parts package), hex_nut_parameters.csv, column iso4032:s
PACKAGE_ISO_4032 = {
    "M3": 5.5, "M3.5": 6, "M4": 7, "M5": 8, "M6": 10, "M8": 13, "M10": 16, "M12": 18, "M14": 21, "M16": 24,
    "M18": 27, "M20": 30, "M22": 34, "M24": 36, "M27": 41, "M30": 46, "M33": 50, "M36": 55,
}  # fmt: skip
# the same package, hex_head_parameters.csv, column din931:s; M3.5 stands there as 5.82, the least of a 6
PACKAGE_DIN_931 = {
    "M3": 5.5, "M4": 7, "M5": 8, "M6": 10, "M8": 13, "M10": 17, "M12": 19, "M14": 22, "M16": 24, "M18": 27,
    "M20": 30, "M22": 32, "M24": 36, "M27": 41, "M30": 46, "M36": 55,
}  # fmt: skip
# hex_head_parameters.csv, columns iso4014:s and iso4017:s (both alike)
PACKAGE_ISO_4014 = {
    "M3": 5.5, "M3.5": 6, "M4": 7, "M5": 8, "M6": 10, "M8": 13, "M10": 16, "M12": 18, "M14": 21, "M16": 24,
    "M18": 27, "M20": 30, "M22": 34, "M24": 36, "M27": 41, "M30": 46, "M33": 50, "M36": 55,
}  # fmt: skip
# hex_head_with_flange_parameters.csv, columns din1662:s and din1665:s
PACKAGE_EN_1662 = {"M5": 7, "M6": 8, "M8": 10, "M10": 13, "M12": 16, "M14": 18, "M16": 21}
PACKAGE_EN_1665 = {"M5": 8, "M6": 10, "M8": 13, "M10": 16, "M12": 18, "M14": 21, "M16": 24, "M20": 30}
# hex_nut_with_flange_parameters.csv (its column carries the number of the bolt standard)
PACKAGE_FLANGE_NUT = {"M5": 8, "M6": 10, "M8": 13, "M10": 15, "M12": 18, "M14": 21, "M16": 24, "M20": 30}


@pytest.mark.parametrize(
    ("standard", "package_sizes"),
    [
        ("ISO 4032", PACKAGE_ISO_4032),
        ("DIN 931", PACKAGE_DIN_931),
        ("ISO 4014", PACKAGE_ISO_4014),
        ("EN 1662", PACKAGE_EN_1662),
        ("EN 1665", PACKAGE_EN_1665),
        ("DIN 6923", PACKAGE_FLANGE_NUT),
    ],
)
def test_sizes_agree_with_parts_package(standard, package_sizes):
    ours = sizes_of(standard)
    assert {thread: ours[thread] for thread in package_sizes} == package_sizes


def test_small_flange_bolt_m12_keeps_both_contradicting_sizes():
    # published JIS B 1189 table says 15, the EN 1662 column of bd-warehouse 0.4.0 says 16
    sizes = {row.across_flats_mm for row in find_hexagons("M12") if row.family == "flange bolt small"}
    assert sizes == {15.0, 16.0}


def test_real_hexagon_is_never_above_nominal():
    # ISO 4759-1: the largest size is the nominal one
    for row in list_hexagons():
        assert row.smallest_mm < row.largest_mm == row.across_flats_mm


def test_corners_of_a_hexagon_stay_below_sharp_corners():
    # plain geometry: e = 2 s / sqrt(3) for sharp corners
    for row in list_hexagons():
        if row.smallest_across_corners_mm is not None:
            assert 1.08 < row.smallest_across_corners_mm / row.smallest_mm < 1.1548


def test_each_row_names_its_source():
    assert len(list_hexagons()) == 135
    assert all(row.source for row in list_hexagons())


def test_unknown_thread_has_no_hexagon():
    assert find_hexagons("M11") == ()
