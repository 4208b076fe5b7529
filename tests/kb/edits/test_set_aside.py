"""Parts set aside for a machine: committed, used, freed."""

from datetime import UTC, datetime

import pytest

from kb.database import open_writer
from kb.edits.ledger import Entry, Place, add_receipt
from kb.edits.set_aside import (
    NewMachineJob,
    WantedPart,
    add_machine_job,
    add_set_aside,
    change_machine_job_state,
    change_set_aside_to_freed,
    change_set_aside_to_used,
)
from kb.errors import BadInput, Conflict, NotFound

ENTRY = Entry(datetime(2026, 3, 2, tzinfo=UTC), "ann")


@pytest.fixture
def job(shelf):
    """Two of part 0 and one of part 1 set aside; three and none are on the shelf."""
    place, wanted = shelf.places[0], [WantedPart(shelf.parts[0], 2), WantedPart(shelf.parts[1], 1)]
    with open_writer(shelf.engine) as session:
        add_receipt(session, Place(place, shelf.parts[0]), 3, ENTRY)
        return add_machine_job(session, NewMachineJob("AB 12", place), wanted, entry=ENTRY)


def read_levels(shelf):
    return sorted(shelf.read("stock_level", "part_id", "on_hand", "committed"))


def test_setting_aside_commits_and_says_what_is_short(shelf, job):
    assert [line.short for line in job.lines] == [0, 1]
    assert read_levels(shelf) == [(shelf.parts[0], 3, 2), (shelf.parts[1], 0, 1)]


def test_used_pieces_leave_the_shelf_and_the_rest_is_freed_at_the_end(shelf, job):
    with open_writer(shelf.engine) as session:
        change_set_aside_to_used(session, job.lines[0].id, 1, ENTRY)
        assert change_machine_job_state(session, job.id, "closed", entry=ENTRY) == 2
    assert read_levels(shelf) == [(shelf.parts[0], 2, 0), (shelf.parts[1], 0, 0)]
    with open_writer(shelf.engine) as session:
        with pytest.raises(Conflict, match="is not open"):
            change_machine_job_state(session, job.id, "cancelled", entry=ENTRY)
        with pytest.raises(Conflict, match="is closed"):
            add_set_aside(session, job.id, WantedPart(shelf.parts[0], 1))


def test_no_more_is_used_or_freed_than_was_set_aside(shelf, job):
    with open_writer(shelf.engine) as session:
        change_set_aside_to_freed(session, job.lines[0].id, 1)
        with pytest.raises(Conflict, match="fewer than 2"):
            change_set_aside_to_used(session, job.lines[0].id, 2, ENTRY)


def test_a_piece_that_is_not_there_is_not_used(shelf, job):
    with pytest.raises(Conflict, match="0 on hand"), open_writer(shelf.engine) as session:
        change_set_aside_to_used(session, job.lines[1].id, 1, ENTRY)
    assert shelf.read("set_aside", "used")[1] == (0,)


def test_a_further_part_is_added_to_an_open_job(shelf, job):
    with open_writer(shelf.engine) as session:
        assert add_set_aside(session, job.id, WantedPart(shelf.parts[2], 1)).short == 1
        with pytest.raises(NotFound, match="'99' on a machine"):
            add_set_aside(session, 99, WantedPart(shelf.parts[2], 1))


def test_a_job_without_a_machine_or_with_an_unknown_state_is_refused(shelf, job):
    with open_writer(shelf.engine) as session:
        with pytest.raises(BadInput, match="which machine"):
            add_machine_job(session, NewMachineJob(" ", shelf.places[0]), [], entry=ENTRY)
        with pytest.raises(BadInput, match="closed or cancelled"):
            change_machine_job_state(session, job.id, "gone", entry=ENTRY)
