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
    with open_reader(database) as session:
        assert find_index_difference(session) != ""
    upgrade_database(database)
    assert find_schema_version(database) == HEAD
    with open_reader(database) as session:
        assert find_index_difference(session) == ""
        assert find_matches(session, "vario belt 669 18 30").results[0].row.part_number == "B-100"


def test_a_database_that_is_up_to_date_is_left_alone(database, load_files):
    load_files(database, parts=PARTS)
    with open_reader(database) as session:
        before = session.execute(text("SELECT terms_version FROM look_up_state")).scalar_one()
    upgrade_database(database)
    with open_reader(database) as session:
        assert session.execute(text("SELECT terms_version FROM look_up_state")).scalar_one() == before
