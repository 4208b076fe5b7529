"""The sheet of a count: read back from its lines whatever happened while they were written."""

from pathlib import Path

import pytest

from api.count_sheet import add_event, begin_sheet, read_sheet
from kb.errors import Conflict


def scan(part: int, scan_id: str, pieces: int = 1) -> dict:
    return {"do": "scan", "id": scan_id, "code": "x", "part": part, "pieces": pieces, "snapshot": 5}


@pytest.fixture
def path(tmp_path: Path) -> Path:
    path = tmp_path / "a.count"
    path.touch()
    begin_sheet(path, location="counter", location_id=1, began_at="2026-11-25T14:00:00+00:00")
    return path


def write(path: Path, *events: dict) -> None:
    sheet = read_sheet(path)
    for event in events:
        add_event(path, sheet, event)


def count(path: Path) -> dict[int, int]:
    return {line.part_id: line.pieces for line in read_sheet(path).lines.values()}


def test_scans_add_up_and_a_repeated_one_counts_once(path: Path):
    write(path, scan(7, "a"), scan(8, "b"), scan(7, "c"), scan(7, "c"))
    assert count(path) == {8: 1, 7: 2}


def test_corrections_hold_and_never_go_below_nothing(path: Path):
    write(path, scan(7, "a"), {"do": "set", "part": 7, "pieces": 12}, {"do": "step", "part": 7, "pieces": -1})
    assert count(path) == {7: 11}
    write(path, {"do": "set", "part": 7, "pieces": 0}, {"do": "step", "part": 7, "pieces": -1})
    assert count(path) == {7: 0}
    write(path, {"do": "remove", "part": 7})
    assert count(path) == {}


def test_label_opens_a_line_without_counting(path: Path):
    write(path, scan(7, "a", pieces=0))
    assert read_sheet(path).lines[7].has_label_only
    write(path, scan(7, "b"))
    assert count(path) == {7: 1}
    assert not read_sheet(path).lines[7].has_label_only


def test_snapshot_stays_that_of_the_first_scan(path: Path):
    write(path, scan(7, "a"), scan(7, "b") | {"snapshot": 9})
    assert read_sheet(path).build_counted() == {7: (2, 5)}


def test_set_aside_scans_move_to_the_part_they_are_given(path: Path):
    unknown = {"do": "scan", "code": "zz", "why": "unknown", "choices": []}
    write(path, unknown | {"id": "a"}, unknown | {"id": "b"}, unknown | {"id": "c", "code": "yy"})
    assert read_sheet(path).set_aside_scans == 3
    write(path, {"do": "assign", "code": "zz", "part": 7, "snapshot": 5}, {"do": "drop", "code": "yy"})
    assert count(path) == {7: 2}
    assert read_sheet(path).set_aside == {}


@pytest.mark.parametrize("torn", [b'\n{"do": "sc', b"\n", b'\n{"do": "scan", "id": "q", "part": 7'])
def test_line_that_a_crash_cut_off_is_left_out_and_the_next_one_is_kept(path: Path, torn: bytes):
    write(path, scan(7, "a"))
    path.write_bytes(path.read_bytes() + torn)
    assert count(path) == {7: 1}
    write(path, scan(8, "b"))
    assert count(path) == {7: 1, 8: 1}


def test_booked_count_takes_no_more_scans(path: Path):
    write(path, scan(7, "a"), {"do": "posted", "at": "2026-11-25T15:00:00+00:00", "lines": [[7, -1, 1]]})
    with pytest.raises(Conflict, match="booked already"):
        write(path, scan(7, "b"))
    assert count(path) == {7: 1}


def test_sheet_that_never_began_says_so(tmp_path: Path):
    path = tmp_path / "b.count"
    path.touch()
    with pytest.raises(Conflict, match="before it began"):
        read_sheet(path)
