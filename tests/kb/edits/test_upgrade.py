"""A database of an older program: schema and the look-up's index brought up to date, on both databases."""

from importlib.resources import files

from alembic import command
from alembic.config import Config
from sqlalchemy import text

from kb.database import open_reader, open_writer
from kb.edits.upgrade import upgrade_database
from kb.lookups.search.find import find_matches
from kb.lookups.search.verify import find_index_difference
from kb.migrate import HEAD, find_schema_version
from kb.rules.match import trade

PARTS = "maker,part_number,part_type,description\nBeck,B-100,drive_belt,CVT belt 669x18x30\n"


def step_back(engine):
    """The schema before the last one, and an index as a program with other trade words wrote it."""
    config = Config()
    config.set_main_option("script_location", str(files("kb") / "migrations"))
    config.attributes["engine"] = engine
    command.downgrade(config, "-1")
    with open_writer(engine) as session:
        session.execute(text("UPDATE look_up_entry SET tokens = 'kother wold'"))


def test_the_index_of_an_older_program_is_written_anew(database, load_files):
    load_files(database, parts=PARTS)
    step_back(database)
    upgrade_database(database)
    assert find_schema_version(database) == HEAD
    with open_reader(database) as session:
        assert find_index_difference(session) == ""
        assert find_matches(session, "vario belt 669 18 30").results[0].row.part_number == "B-100"


def read_state(engine):
    with open_reader(engine) as session:
        return session.execute(text("SELECT * FROM look_up_state")).one()


def test_a_database_that_is_up_to_date_is_left_alone(database, load_files):
    upgrade_database(database)
    load_files(database, parts=PARTS)
    before = read_state(database)
    upgrade_database(database)
    assert read_state(database) == before
    assert before.words_fingerprint


def test_an_index_of_other_trade_words_is_written_anew_once(database, load_files):
    upgrade_database(database)
    load_files(database, parts=PARTS)
    current = read_state(database).words_fingerprint
    with open_writer(database) as session:
        session.execute(text("UPDATE look_up_entry SET tokens = 'kother wold'"))
        session.execute(text("UPDATE look_up_state SET words_fingerprint = 'of another release'"))
    with open_reader(database) as session:
        assert "written by a program with other trade words" in find_index_difference(session)
    upgrade_database(database)
    after = read_state(database)
    assert after.words_fingerprint == current
    with open_reader(database) as session:
        assert find_index_difference(session) == ""
    upgrade_database(database)
    assert read_state(database) == after


def test_words_or_a_way_of_reading_that_differ_give_another_fingerprint(monkeypatch):
    now = trade.build_words_fingerprint()
    assert trade.build_words_fingerprint() == now
    with monkeypatch.context() as changed:
        changed.setattr(trade, "READING", trade.READING + 1)
        assert trade.build_words_fingerprint() != now
    monkeypatch.setattr(trade, "read_package_bytes", lambda name: f"one word more in {name}".encode())
    assert trade.build_words_fingerprint() != now
