"""The type of a part: stated, not stated, taken over later, taken back.

Expected: an empty cell means not known, and what is not known says nothing against what is stored.
"""

from datetime import UTC, datetime

import pytest
from sqlalchemy import text

from importers.mapping import build_mapping
from importers.run import ImportOptions
from importers.sheet_file import SheetFile, load_file
from kb.database import open_reader, open_writer
from kb.edits.undo import undo_batch
from kb.lookups.search.find import find_matches
from kb.lookups.search.verify import find_index_difference

NOW = datetime(2026, 2, 1, tzinfo=UTC)
TYPED = "maker,part_number,part_type,length_mm\n"
UNTYPED = "maker,part_number,length_mm\n"
LOOSE = UNTYPED + "Wren,B-743,743\nWren,N-1,\n"
DEMAND = "location,maker,part_number,date,quantity\ncounter,Wren,B-743,2026-01-05,3\n"
FIRST_NOTICE = (
    "2 parts state no part type (lines 2 and 3); kept as 'other': whether they fit is then known from fit "
    "records only. Fill in part_type where it is known, now or in a later list."
)


def read_types(engine):
    question = "SELECT part_number, part_type FROM part ORDER BY part_number"
    with engine.connect() as connection:
        return dict(connection.execute(text(question)).all())


def read_demand_of_types(engine):
    with engine.connect() as connection:
        question = text("SELECT part_type, pieces FROM demand_type_month")
        return dict(connection.execute(question).all())


def find_type(engine, words):
    with open_reader(engine) as session:
        assert find_index_difference(session) == ""
        return find_matches(session, words).results[0].row.part_type


def count(file):
    return (file.added, file.changed, file.unchanged, file.refused)


def load_list(engine, folder, content, **mapping):
    path = folder / "list.csv"
    path.write_text(content)
    options = ImportOptions(shown_changes=5)
    file = SheetFile(path, path.name, build_mapping({"kind": "parts", **mapping}))
    with open_writer(engine) as session:
        return load_file(session, file, now=NOW, options=options)


def test_parts_without_a_type_are_kept_as_other_and_told_once(database, load_files):
    for content in (LOOSE, TYPED + "Wren,B-743,,743\nWren,N-1,,\n"):
        [file] = load_files(database, parts=content).files
        assert [(n.line, n.topic, n.column, n.message) for n in file.notices] == [
            (2, "assumed", "part_type", FIRST_NOTICE)
        ]
        assert (file.notice_counts, file.problems) == ({"assumed": 1}, ())
    assert count(file) == (0, 0, 2, 0)
    assert read_types(database) == {"B-743": "other", "N-1": "other"}


def test_a_stored_type_outlives_lists_that_state_none_or_other(database, load_files):
    load_files(database, parts=TYPED + "Wren,B-743,drive_belt,743\n")
    for said in (UNTYPED + "Wren,B-743,743\n", TYPED + "Wren,B-743,other,743\n"):
        [file] = load_files(database, parts=said).files
        assert (count(file), file.notices) == ((0, 0, 1, 0), ())
    assert read_types(database) == {"B-743": "drive_belt"}


def test_a_later_type_is_taken_over_shown_found_and_taken_back(database, load_files, read_tables, tmp_path):
    load_files(database, parts=LOOSE, demand=DEMAND)
    assert (read_demand_of_types(database), find_type(database, "B-743")) == ({"other": 3}, "other")
    before = read_tables(database)
    del before["demand_type_month"]  # worked out from the others, under ids of its own
    report = load_list(database, tmp_path, TYPED + "Wren,B-743,drive_belt,743\nWren,N-1,nut,20\n")
    [file] = report.files
    assert (count(file), file.notices) == ((0, 2, 0, 0), ())
    assert [(c.line, c.action, c.part_number, c.before, c.after) for c in file.changes] == [
        (2, "changed", "B-743", {"part_type": "other"}, {"part_type": "drive_belt"}),
        (
            3,
            "changed",
            "N-1",
            {"length_mm": None, "part_type": "other"},
            {"length_mm": 20.0, "part_type": "nut"},
        ),
    ]
    assert read_types(database) == {"B-743": "drive_belt", "N-1": "nut"}
    assert (read_demand_of_types(database), find_type(database, "B-743")) == ({"drive_belt": 3}, "drive_belt")
    with open_writer(database) as session:
        undone = undo_batch(session, report.batch, NOW)
    assert undone.restored == {"part": 2, "part_record": 1}
    assert {name: rows for name, rows in read_tables(database).items() if name in before} == before
    assert (read_demand_of_types(database), find_type(database, "B-743")) == ({"other": 3}, "other")


@pytest.mark.parametrize("rows_at_once", [1, 100])
def test_the_first_type_that_a_file_states_holds_for_the_whole_file(
    database, load_files, monkeypatch, rows_at_once
):
    monkeypatch.setattr("importers.row_groups.ROWS_PER_GROUP", rows_at_once)
    sources = "source,kind\na,supplier\nb,supplier\nc,supplier\n"
    rows = "Wren,N-1,,a\nWren,N-1,nut,b\nWren,N-1,other,c\nWren,N-2,,a\n"
    parts = "maker,part_number,part_type,source\n" + rows
    report = load_files(database, sources=sources, parts=parts)
    assert [notice.message[:38] for notice in report.files[1].notices] == [
        "1 part states no part type (line 5); k"
    ]
    assert read_types(database) == {"N-1": "nut", "N-2": "other"}
    with open_writer(database) as session:
        assert undo_batch(session, report.batch, NOW).removed["part"] == 2


def test_two_types_are_refused_also_behind_a_row_that_states_none(database, load_files):
    sources = "source,kind\na,supplier\nb,supplier\nc,supplier\n"
    parts = "maker,part_number,part_type,source\nWren,N-1,,a\nWren,N-1,nut,b\nWren,N-1,washer,c\n"
    for _time in (1, 2):
        [_, file] = load_files(database, sources=sources, parts=parts).files
        [problem] = file.problems
        assert (problem.line, problem.value) == (4, "washer")
        assert "'N-1' stands in line 3 as 'nut', here it is 'washer'" in problem.message
        load_files(database, parts="maker,part_number\nWren,N-1\n")


def test_a_first_import_stays_while_a_later_one_named_the_type(database, load_files):
    first = load_files(database, parts=LOOSE).batch
    later = load_files(database, parts=TYPED + "Wren,N-1,nut,\n").batch
    with open_writer(database) as session:
        with pytest.raises(Exception, match="changed rows of part that it added"):
            undo_batch(session, first, NOW)
        undo_batch(session, later, NOW)
        undo_batch(session, first, NOW)
    assert read_types(database) == {}


def test_a_list_without_a_type_column_is_read_from_descriptions_and_else_kept_as_other(database, tmp_path):
    content = "Marke;Artikelnummer;Bezeichnung\nWren;B-743;CVT BELT 743x20x30\nWren;Z-1;Shop coat, blue\n"
    [file] = load_list(database, tmp_path, content).files
    assert (count(file), file.notice_counts["assumed"]) == ((2, 0, 0, 0), 1)
    assert read_types(database) == {"B-743": "drive_belt", "Z-1": "other"}
    [file] = load_list(database, tmp_path, "maker,part_number\nWren,Z-2\n").files
    assert (count(file), file.notice_counts) == ((1, 0, 0, 0), {"assumed": 1})
