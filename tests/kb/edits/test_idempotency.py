"""A key is answered once; rules of the Idempotency-Key header as in the IETF draft, October 2025."""

import threading
from datetime import UTC, datetime, timedelta

import pytest

from kb.database import open_writer
from kb.edits.idempotency import StoredAnswer, add_request, build_request, change_answer, is_under_way
from kb.edits.ledger import Entry, Place, add_receipt
from kb.errors import BadInput

NOW = datetime(2026, 3, 2, tzinfo=UTC)


def post(engine, request, place, *, now=NOW):
    """The answer stored before, or None after a receipt of one piece was booked."""
    with open_writer(engine) as session:
        stored = add_request(session, request, now=now)
        if stored is None:
            posted = add_receipt(session, place, 1, Entry(now))
            change_answer(session, request, status=201, body=f'{{"on_hand": {posted.on_hand}}}')
        return stored


def test_a_repeated_request_gets_the_first_answer_and_books_nothing(shelf):
    place = Place(shelf.places[0], shelf.parts[0])
    request = build_request("k-1", "key 7", "POST /moves", body=b"{}")
    assert post(shelf.engine, request, place) is None
    assert post(shelf.engine, request, place) == StoredAnswer(True, 201, '{"on_hand": 1}')
    assert shelf.read("stock_level", "on_hand") == [(1,)]


@pytest.mark.parametrize(
    ("caller", "operation", "body"),
    [
        ("key 8", "POST /moves", b"{}"),
        ("key 7", "POST /imports", b"{}"),
        ("key 7", "POST /moves", b'{"quantity":2}'),
    ],
)
def test_a_key_used_for_something_else_is_told_apart(shelf, caller, operation, body):
    place = Place(shelf.places[0], shelf.parts[0])
    post(shelf.engine, build_request("k-1", "key 7", "POST /moves", body=b"{}"), place)
    stored = post(shelf.engine, build_request("k-1", caller, operation, body=body), place)
    assert not stored.is_same
    assert shelf.read("stock_level", "on_hand") == [(1,)]


def test_a_failed_posting_leaves_its_key_free(shelf):
    place = Place(shelf.places[0], shelf.parts[0])
    request = build_request("k-1", "key 7", "POST /moves", body=b"{}")
    with open_writer(shelf.engine) as session:
        add_request(session, request, now=NOW)
        session.rollback()
    assert post(shelf.engine, request, place) is None


def test_keys_are_kept_seven_days(shelf):
    place = Place(shelf.places[0], shelf.parts[0])
    request = build_request("k-1", "key 7", "POST /moves", body=b"{}")
    post(shelf.engine, request, place)
    assert post(shelf.engine, request, place, now=NOW + timedelta(days=7)) is not None
    assert post(shelf.engine, request, place, now=NOW + timedelta(days=7, seconds=1)) is None


@pytest.mark.parametrize("key", ["", "x" * 256, "caf\u00e9", "a\nb"])
def test_unusable_keys_are_refused(key):
    with pytest.raises(BadInput, match="Idempotency-Key"):
        build_request(key, "c", "o", body=b"")


def test_the_same_key_at_the_same_time_books_once(shelf):
    place = Place(shelf.places[0], shelf.parts[0])
    request = build_request("k-1", "key 7", "POST /moves", body=b"{}")
    answers, gate = [], threading.Barrier(8)

    def run():
        gate.wait()
        answers.append(post(shelf.engine, request, place))

    threads = [threading.Thread(target=run) for _ in range(8)]
    [thread.start() for thread in threads]
    [thread.join() for thread in threads]
    assert sorted(answer is None for answer in answers) == [False] * 7 + [True]
    assert shelf.read("stock_level", "on_hand") == [(1,)]


def test_a_key_under_way_is_seen_without_waiting(postgres_engine):
    """PostgreSQL manual, advisory locks: held by one transaction, refused to another until that ends."""
    with open_writer(postgres_engine) as first:
        assert not is_under_way(first, "k-1")
        with open_writer(postgres_engine) as second:
            assert is_under_way(second, "k-1")
            assert not is_under_way(second, "k-2")
    with open_writer(postgres_engine) as third:
        assert not is_under_way(third, "k-1")
