"""A posting program is killed with SIGKILL at many moments: what it acknowledged is there, once."""

import os
import random
import subprocess
import sys
from pathlib import Path

from sqlalchemy import select, text

from kb.database import open_database, open_reader, open_writer
from kb.edits.ledger import Entry, Place, add_receipt
from kb.lookups.check import check_database
from kb.tables.columns import get_table

ROOT = Path(__file__).parents[3]
# The full measure is 200 kills: COUNTERHAND_TEST_KILLS=200.
ROUNDS = int(os.environ.get("COUNTERHAND_TEST_KILLS", "4"))
PROGRAM = """
import sys
from datetime import UTC, datetime
from kb.database import open_database, open_writer
from kb.edits.ledger import Entry, Place, add_issue
url, location, part = sys.argv[1], int(sys.argv[2]), int(sys.argv[3])
engine = open_database(url)
for number in range(100000):
    with open_writer(engine) as session:
        posted = add_issue(session, Place(location, part), 1, Entry(datetime(2026, 3, 2, tzinfo=UTC)))
    print(posted.movement_id, flush=True)
"""


def _kill_after_lines(url, place, lines):
    """Movements acknowledged by a program that is killed after printing so many, or a moment later."""
    program = subprocess.Popen(
        [sys.executable, "-c", PROGRAM, url, str(place.location_id), str(place.part_id)],
        stdout=subprocess.PIPE,
        cwd=ROOT,
        text=True,
    )
    acknowledged = [program.stdout.readline() for _ in range(lines)]
    program.kill()
    acknowledged += program.stdout.readlines()
    program.stdout.close()
    program.wait()
    return [int(line) for line in acknowledged if line.endswith("\n")]


def test_a_killed_program_loses_no_acknowledged_posting(shelf, tmp_path):
    place = Place(shelf.places[0], shelf.parts[0])
    url = shelf.engine.url
    address = (
        str(tmp_path / "counterhand.db")
        if url.get_backend_name() == "sqlite"
        else url.set(drivername="postgresql").render_as_string(hide_password=False)
    )
    with open_writer(shelf.engine) as session:
        from datetime import UTC, datetime

        add_receipt(session, place, 100_000, Entry(datetime(2026, 3, 1, tzinfo=UTC)))
    moments = random.Random(5)
    acknowledged = []
    for _ in range(ROUNDS):
        acknowledged += _kill_after_lines(address, place, moments.randint(1, 20))
    engine = open_database(address)
    with open_reader(engine) as session:
        movement = get_table("stock_movement").c
        stored = session.execute(select(movement.id).where(movement.kind == "issue")).scalars().all()
        on_hand = session.execute(text("SELECT on_hand FROM stock_level")).scalar_one()
        assert [
            result for result in check_database(session) if not result.ok and "look-up" not in result.what
        ] == []
    engine.dispose()
    assert len(acknowledged) == len(set(acknowledged)) > ROUNDS
    assert set(acknowledged) <= set(stored)
    assert len(stored) - len(acknowledged) <= ROUNDS  # at most the one under way at each kill
    assert on_hand == 100_000 - len(stored)
