"""The demo catalogue loads without a problem, twice the same, on both databases."""

from datetime import UTC, datetime
from pathlib import Path

from sqlalchemy import text

from importers.load import load_catalogue
from kb.database import open_writer
from kb.edits.undo import undo_batch

FOLDER = Path(__file__).parents[2] / "demo_catalog"
NOW = datetime(2026, 1, 31, tzinfo=UTC)


def test_demo_catalogue_loads_twice_the_same_and_can_be_taken_back(database, read_tables):
    empty = read_tables(database)
    with open_writer(database) as session:
        first = load_catalogue(session, FOLDER, now=NOW)
    assert not first.has_problems, first.as_json()
    loaded = read_tables(database)
    with open_writer(database) as session:
        second = load_catalogue(session, FOLDER, now=NOW)
    assert second.batch is None
    assert {(file.added, file.changed) for file in second.files} == {(0, 0)}
    assert read_tables(database) == loaded
    with open_writer(database) as session:
        undo_batch(session, first.batch, NOW)
    after = read_tables(database)
    left = {name for name in after if after[name] != empty[name] and not name.startswith("look_up_")}
    # The ledger keeps its lines, and what they name stays (and is found by the look-up).
    assert left == {"maker", "part", "location", "stock_level", "stock_movement"}


def test_rows_of_the_demo_files_are_all_stored(demo_engine):
    with demo_engine.connect() as connection:
        for table, file in (
            ("engine", "engines"),
            ("part_record", "parts"),
            ("fit", "fits"),
            ("demand", "demand"),
        ):
            lines = (FOLDER / f"{file}.csv").read_text(encoding="utf-8").splitlines()
            assert connection.execute(text(f"SELECT count(*) FROM {table}")).scalar() == len(lines) - 1


def test_on_hand_is_the_sum_of_the_movements(demo_engine):
    with demo_engine.connect() as connection:
        differing = connection.execute(
            text(
                "SELECT count(*) FROM stock_level l WHERE on_hand <> (SELECT coalesce(sum(quantity), 0) "
                "FROM stock_movement m WHERE m.part_id = l.part_id AND m.location_id = l.location_id)"
            )
        ).scalar()
        assert differing == 0
        assert connection.execute(text("SELECT sum(on_hand) FROM stock_level")).scalar() > 0
