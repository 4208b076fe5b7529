"""Sources: JIS B 1176 (published table), bd-warehouse 0.4.0 (tables of a parts package)."""

import pytest

from kb.standards.socket_head_keys import find_socket_head_keys, list_socket_head_keys


def keys_of(standard: str) -> dict[str, float]:
    return {row.thread: row.key_mm for row in list_socket_head_keys() if row.standard == standard}


# bd-warehouse 0.4.0, socket_head_cap_parameters.csv, column iso4762:s
PACKAGE_ISO_4762 = {
    "M1.6": 1.5, "M2": 1.5, "M2.5": 2, "M3": 2.5, "M4": 3, "M5": 4, "M6": 5, "M8": 6, "M10": 8, "M12": 10,
    "M14": 12, "M16": 14, "M20": 17, "M24": 19,
}  # fmt: skip
# the same package prints the largest socket for the next two: column iso7380_1:s and iso10642:s
PACKAGE_ISO_7380_LARGEST = {
    "M3": 2.08, "M4": 2.58, "M5": 3.08, "M6": 4.095, "M8": 5.14, "M10": 6.14, "M12": 8.175, "M16": 10.175,
}  # fmt: skip
PACKAGE_ISO_10642_LARGEST = {
    "M3": 2.1, "M4": 2.6, "M5": 3.1, "M6": 4.12, "M8": 5.14, "M10": 6.14, "M12": 8.175, "M14": 10.175,
    "M16": 10.175,
}  # fmt: skip


def test_cap_screw_keys_agree_with_parts_package():
    ours = keys_of("ISO 4762")
    assert {thread: ours[thread] for thread in PACKAGE_ISO_4762} == PACKAGE_ISO_4762


@pytest.mark.parametrize(
    ("standard", "largest_sockets"),
    [("ISO 7380-1", PACKAGE_ISO_7380_LARGEST), ("ISO 10642", PACKAGE_ISO_10642_LARGEST)],
)
def test_button_and_countersunk_keys_go_into_the_largest_socket_of_the_package(standard, largest_sockets):
    ours = keys_of(standard)
    assert ours.keys() == largest_sockets.keys()
    for thread, largest in largest_sockets.items():
        assert 0 < largest - ours[thread] < 0.25


@pytest.mark.parametrize(
    ("thread", "key", "smallest", "largest"),
    [  # published JIS B 1176 table
        ("M5", 4.0, 4.02, 4.095),
        ("M6", 5.0, 5.02, 5.14),
        ("M8", 6.0, 6.02, 6.14),
        ("M10", 8.0, 8.025, 8.175),
    ],
)
def test_cap_screw_has_published_socket_limits(thread, key, smallest, largest):
    cap = find_socket_head_keys(thread)[0]
    assert (cap.key_mm, cap.socket_smallest_mm, cap.socket_largest_mm) == (key, smallest, largest)


def test_unknown_socket_limits_stay_unknown():
    button = find_socket_head_keys("M6")[1]
    assert (button.socket_smallest_mm, button.socket_largest_mm) == (None, None)
    assert "from memory" in button.source


def test_thread_without_rows_gives_nothing():
    assert find_socket_head_keys("M9") == ()
