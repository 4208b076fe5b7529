"""Any sequence of postings against a small model of a shelf: two numbers for each place."""

from collections import defaultdict
from contextlib import suppress
from datetime import UTC, datetime

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import func, select

from kb.database import open_writer
from kb.edits.ledger import (
    Entry,
    Place,
    add_count,
    add_issue,
    add_move,
    add_receipt,
    add_return,
    add_unmet_request,
    add_write_off,
)
from kb.edits.set_aside import (
    NewMachineJob,
    WantedPart,
    add_machine_job,
    change_machine_job_state,
    change_set_aside_to_freed,
    change_set_aside_to_used,
)
from kb.errors import Conflict
from kb.lookups.check import check_database
from kb.tables.columns import get_table

ENTRY = Entry(datetime(2026, 3, 2, tzinfo=UTC), "ann")
KINDS = (
    "receive",
    "issue",
    "return",
    "write_off",
    "move",
    "count",
    "unmet",
    "set_aside",
    "use",
    "free",
    "cancel",
)
STEPS = st.lists(
    st.tuples(st.sampled_from(KINDS), st.integers(0, 1), st.integers(0, 1), st.integers(1, 5)), max_size=25
)


class Model:
    """What a person with a pencil would keep: pieces, promised pieces, demand, lines set aside."""

    def __init__(self):
        self.on_hand = defaultdict(int)
        self.committed = defaultdict(int)
        self.demand = defaultdict(int)
        self.lines = []  # [place, pieces left, job]

    def apply(self, kind, place, other, quantity):  # noqa: C901 - one branch for each kind
        spare = self.on_hand[place] - self.committed[place]
        line = self.lines[-1] if self.lines else None
        if kind in ("receive", "return"):
            self.on_hand[place] += quantity
            self.demand[place] -= quantity if kind == "return" else 0
        elif kind == "count":
            self.on_hand[place] = quantity
        elif kind == "unmet":
            self.demand[place] += quantity
        elif kind == "set_aside":
            self.committed[place] += quantity
            self.lines.append([place, quantity])
        elif kind == "issue" and spare >= quantity:
            self.on_hand[place] -= quantity
            self.demand[place] += quantity
        elif kind == "write_off" and self.on_hand[place] >= quantity:
            self.on_hand[place] -= quantity
        elif kind == "move" and spare >= quantity:
            self.on_hand[place] -= quantity
            self.on_hand[other] += quantity
        elif kind == "use" and line and line[1] >= quantity and self.on_hand[line[0]] >= quantity:
            line[1] -= quantity
            self.on_hand[line[0]] -= quantity
            self.committed[line[0]] -= quantity
            self.demand[line[0]] += quantity
        elif kind == "free" and line and line[1] >= quantity:
            line[1] -= quantity
            self.committed[line[0]] -= quantity
        elif kind == "cancel" and line:
            self.committed[line[0]] -= line[1]
            self.lines.pop()
        else:
            return False
        return True


class Program:
    """The same steps on the database; each in a transaction of its own."""

    def __init__(self, engine, places, parts):
        self.engine, self.places, self.parts = engine, places, parts
        self.jobs = []

    def apply(self, kind, place, other, quantity):
        with open_writer(self.engine) as session:
            here = Place(self.places[place[0]], self.parts[place[1]])
            there = self.places[other[0]]
            self._run(session, kind, here, there, quantity)

    def _run(self, session, kind, here, there, quantity):
        plain = {
            "receive": add_receipt,
            "issue": add_issue,
            "return": add_return,
            "write_off": add_write_off,
            "count": add_count,
            "unmet": add_unmet_request,
        }
        if kind in plain:
            plain[kind](session, here, quantity, ENTRY)
        elif kind == "move":
            add_move(session, here, there, quantity, ENTRY)
        elif kind == "set_aside":
            job = add_machine_job(
                session,
                NewMachineJob("M", here.location_id),
                [WantedPart(here.part_id, quantity)],
                entry=ENTRY,
            )
            self.jobs.append((job.id, job.lines[0].id))
        elif not self.jobs:
            raise Conflict("No job is open.")
        elif kind == "use":
            change_set_aside_to_used(session, self.jobs[-1][1], quantity, ENTRY)
        elif kind == "free":
            change_set_aside_to_freed(session, self.jobs[-1][1], quantity)
        else:
            change_machine_job_state(session, self.jobs.pop()[0], "cancelled", entry=ENTRY)


def _run_steps(shelf, steps):
    model, program = Model(), Program(shelf.engine, shelf.places, shelf.parts)
    for kind, location, part, quantity in steps:
        place, other = (location, part), (1 - location, part)
        expected = model.apply(kind, place, other, quantity)
        done = False
        with suppress(Conflict):
            program.apply(kind, place, other, quantity)
            done = True
        assert done == expected, (kind, place, quantity)
    return model


def _check_same(shelf, model):
    stored = {
        (shelf.places.index(row[0]), shelf.parts.index(row[1])): row[2:]
        for row in shelf.read("stock_level", "location_id", "part_id", "on_hand", "committed")
    }
    wanted = {place: (model.on_hand[place], model.committed[place]) for place in stored}
    assert stored == wanted
    assert all(place in stored for place, pieces in model.on_hand.items() if pieces)
    months = {
        (shelf.places.index(row[0]), shelf.parts.index(row[1])): row[2]
        for row in shelf.read("demand_month", "location_id", "part_id", "pieces")
    }
    assert months == {place: model.demand[place] for place in months}
    with open_writer(shelf.engine) as session:
        assert [
            result for result in check_database(session) if not result.ok and "look-up" not in result.what
        ] == []
        movement = get_table("stock_movement").c
        moves = session.execute(select(func.sum(movement.quantity)).where(movement.kind == "move")).scalar()
        assert not moves


def _empty(shelf):
    with open_writer(shelf.engine) as session:
        for name in ("set_aside", "machine_job", "stock_out", "unmet_request", "demand_month"):
            session.connection().execute(get_table(name).delete())
        for name in ("stock_count", "stock_movement", "stock_level"):
            session.connection().execute(get_table(name).delete())


@settings(
    max_examples=25,
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(steps=STEPS)
@pytest.mark.usefixtures("shelf")
def test_any_sequence_of_postings_leaves_what_a_pencil_would(shelf, steps):
    """One database for all sequences of a run: it is emptied before each."""
    _empty(shelf)
    _check_same(shelf, _run_steps(shelf, steps))
