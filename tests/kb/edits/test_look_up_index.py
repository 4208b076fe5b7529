"""The look-up's index follows every write, and says at any time what the rows say."""

from datetime import UTC, datetime

import pytest

from kb.database import open_database, open_reader, open_writer
from kb.edits.look_up_index import rebuild_index
from kb.edits.undo import undo_batch
from kb.lookups.search.find import find_matches
from kb.lookups.search.verify import find_index_difference
from kb.terms import Certainty

NOW = datetime(2026, 2, 1, 9, 0, tzinfo=UTC)
HEADING = "maker,part_number,part_type,description,length_mm,top_width_mm,angle_deg,source\n"
BELTS = HEADING + (
    "Wrenfold,WF-743.1,drive_belt,transmission belt,743,20,30,\n"
    "Wrenfold,WF-788.1,drive_belt,Drive belt kevlar,788,17,28,\n"
)
ENGINES = "engine,family,name,designation,bore_mm\nlark-50,lark,Lark fifty,1E38QMA,38\n"
VEHICLES = "make,model,engine\nOswald,Fennick,lark-50\n"


def find(engine, text):
    with open_reader(engine) as session:
        return find_matches(session, text)


def find_numbers(engine, text):
    return [found.row.part_number for found in find(engine, text).results]


def check(engine):
    with open_reader(engine) as session:
        return find_index_difference(session)


@pytest.fixture
def filled(database, load_files):
    report = load_files(database, parts=BELTS, engines=ENGINES, vehicles=VEHICLES)
    assert not report.has_problems, report.as_json()
    return database, report.batch


def test_an_import_is_found_and_the_index_agrees_with_the_rows(filled):
    database, _ = filled
    assert find_numbers(database, "belt 743 20 30")[0] == "WF-743.1"
    assert find(database, "Oswald Fennick").results[0].row.engine == "lark-50"
    assert find(database, "lark-50").results[0].certainty is Certainty.SURE
    assert check(database) == ""


def test_a_changed_row_is_found_by_what_it_says_now(filled, load_files):
    database, _ = filled
    load_files(database, parts=BELTS.replace("kevlar", "aramid").replace("788,17", "789,17"))
    assert find_numbers(database, "belt 789 17 28")[0] == "WF-788.1"
    assert find(database, "belt 788 17 28").results[0].certainty is Certainty.UNSURE
    assert check(database) == ""


def test_a_second_source_of_a_part_joins_its_entry(filled, load_files):
    database, _ = filled
    sources = "source,kind,title\nlist-a,supplier,List A\n"
    load_files(
        database, sources=sources, parts=HEADING + "Wrenfold,WF-743.1,drive_belt,primary belt,,,,list-a\n"
    )
    assert find_numbers(database, "primary belt 743")[0] == "WF-743.1"
    assert check(database) == ""


def test_a_further_vehicle_joins_the_entry_of_its_engine(filled, load_files):
    database, _ = filled
    load_files(database, vehicles="make,model,engine\nOswald,Quintrell,lark-50\n")
    assert find(database, "quintrell").results[0].row.engine == "lark-50"
    assert check(database) == ""


def test_an_undone_import_is_no_longer_found(filled):
    database, batch = filled
    with open_writer(database) as session:
        undo_batch(session, batch, NOW)
    assert find(database, "WF-743.1").results == ()
    assert check(database) == ""


def test_an_undone_change_is_found_as_it_was(filled, load_files):
    database, _ = filled
    extra = "".join(f"Wrenfold,WF-9{n:02d}.1,drive_belt,belt,9{n:02d},22,30,\n" for n in range(20))
    load_files(database, parts=HEADING + extra)
    second = load_files(database, parts=BELTS.replace("788,17", "789,17"))
    with open_writer(database) as session:
        undo_batch(session, second.batch, NOW)
    assert find_numbers(database, "belt 788 17 28")[0] == "WF-788.1"
    assert check(database) == ""


def test_a_word_of_the_catalogue_is_understood_and_rows_are_keyed_again(filled, load_files):
    database, _ = filled
    assert find(database, "snubber 743 20 30").results[0].certainty is not Certainty.SURE
    batch = load_files(database, trade_names="part_type,name\ndrive_belt,snubber\n").batch
    answer = find(database, "snubber 743 20 30").results[0]
    assert (answer.row.part_number, answer.certainty) == ("WF-743.1", Certainty.SURE)
    assert check(database) == ""
    with open_writer(database) as session:
        undo_batch(session, batch, NOW)
    assert find(database, "snubber 743 20 30").results[0].certainty is not Certainty.SURE
    assert check(database) == ""


def test_a_row_that_uses_a_new_word_gets_its_meaning(database, load_files):
    row = "Wrenfold,WF-5,other,Snubber 743x20,,,,\n"
    load_files(database, parts=HEADING + row)
    load_files(database, trade_names="part_type,name\ndrive_belt,snubber\n")
    assert find_numbers(database, "transmission belt 743 20") == ["WF-5"]
    assert check(database) == ""


def test_a_refused_import_leaves_the_index_alone(filled, load_files):
    database, _ = filled
    report = load_files(database, parts=HEADING + "Wrenfold,WF-1000,drive_belt,belt,1e9,20,30,\n")
    assert report.has_problems
    assert find(database, "WF-1000").results == ()
    assert check(database) == ""


def test_another_process_sees_a_new_row_and_its_new_words_at_once(filled, load_files):
    database, _ = filled
    if database.dialect.name == "sqlite":
        with database.connect() as connection:
            url = connection.exec_driver_sql("PRAGMA database_list").fetchone()[2]
    else:
        url = database.url.render_as_string(hide_password=False)
    other = open_database(url)
    assert find(other, "belt 743 20 30").results
    load_files(database, parts=HEADING + "Tamsin & Yore,TY-1,drive_belt,Drive belt,811,21,29,\n")
    assert find_numbers(other, "tamsim belt 811")[0] == "TY-1"
    other.dispose()


def test_the_check_notices_an_index_that_lags_behind(filled):
    database, _ = filled
    with database.execution_options(write=True).begin() as connection:
        connection.exec_driver_sql("UPDATE part_record SET description = 'something else'")
    assert "does not hold" in check(database)
    with open_writer(database) as session:
        rebuild_index(session.connection())
    assert check(database) == ""


def test_the_check_notices_a_lost_key_and_a_wrong_count(filled):
    database, _ = filled
    with database.execution_options(write=True).begin() as connection:
        connection.exec_driver_sql("DELETE FROM look_up_key WHERE kind = 2")
    assert "lacks its key" in check(database)
    with open_writer(database) as session:
        rebuild_index(session.connection())
    with database.execution_options(write=True).begin() as connection:
        connection.exec_driver_sql("UPDATE look_up_term SET count = count + 1 WHERE term = 'belt'")
    assert "'belt'" in check(database)
