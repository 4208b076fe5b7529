"""Keys given out, found, taken back; sign-ins that end with their key.

Key strength, storage as a digest, revocation at once: OWASP Application Security Verification Standard 5.0
(requirements 11.5.1, 6.5.2, 7.4.1), as quoted in advice on access keys.
"""

import sqlite3
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from sqlalchemy.exc import IntegrityError
from sqlmodel import select

from kb.database import open_reader, open_writer
from kb.edits.access import add_access_key, add_sign_in, note_use, remove_sign_in, revoke_access_key
from kb.errors import BadInput, Conflict, NotFound
from kb.lookups.access import find_key_holder, find_signed_in, has_admin_key, has_keys, list_access_keys
from kb.tables.access import AccessKey, AccessSession
from kb.terms import Role

NOON = datetime(2026, 3, 1, 12, tzinfo=UTC)
LATER = NOON + timedelta(minutes=5)


def add_key(database, name="counter", role=Role.STOCK, expires=None):
    with open_writer(database) as session:
        return add_access_key(session, name, role, now=NOON, expires_at_utc=expires)


def find_holder(database, key, now=LATER):
    with open_reader(database) as session:
        return find_key_holder(session, key, now=now)


def sign_in(database, key):
    caller = find_holder(database, key)
    with open_writer(database) as session:
        return add_sign_in(session, caller.key_id, now=NOON)


def find_caller(database, token, now=LATER):
    with open_reader(database) as session:
        return find_signed_in(session, token, now=now)


def test_key_has_160_bits_and_is_found_by_its_text(database):
    issued = add_key(database)
    assert len(bytes.fromhex(issued.key)) == 20
    assert issued.key.startswith(issued.prefix)
    holder = find_holder(database, issued.key)
    assert (holder.name, holder.role) == ("counter", Role.STOCK)


def test_keys_differ(database):
    assert len({add_key(database, f"key {number}").key for number in range(20)}) == 20


@pytest.mark.parametrize(
    "change", [lambda key: key[:-1], lambda key: key + "0", lambda key: key[:8], str.upper]
)
def test_nearly_right_key_opens_nothing(database, change):
    issued = add_key(database)
    shown = change(issued.key)
    assert shown != issued.key
    assert find_holder(database, shown) is None


@pytest.mark.parametrize("text", ["", "zz", "\x00", "\ud800", "ключ", "' OR 1=1 --"])
def test_any_text_is_answered_with_nobody(database, text):
    add_key(database)
    assert find_holder(database, text) is None
    assert find_caller(database, text) is None


def test_text_of_a_key_is_nowhere_in_the_database_file(sqlite_engine, tmp_path):
    issued = add_key(sqlite_engine)
    token = sign_in(sqlite_engine, issued.key)
    sqlite_engine.dispose()
    with sqlite3.connect(tmp_path / "counterhand.db") as connection:
        connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    connection.close()
    stored = Path(tmp_path / "counterhand.db").read_bytes()
    assert issued.prefix.encode() in stored
    assert issued.key.encode() not in stored
    assert token.encode() not in stored


def test_expired_key_opens_nothing_but_still_counts(database):
    issued = add_key(database, role=Role.ADMIN, expires=LATER)
    assert find_holder(database, issued.key, now=LATER) is None
    with open_reader(database) as session:
        assert has_keys(session)
        assert has_admin_key(session, now=NOON)
        assert not has_admin_key(session, now=LATER)


def test_revoked_key_and_its_sign_ins_open_nothing(database):
    issued = add_key(database)
    token = sign_in(database, issued.key)
    assert find_caller(database, token).name == "counter"
    with open_writer(database) as session:
        assert revoke_access_key(session, "counter", now=LATER) == "counter"
    assert find_holder(database, issued.key) is None
    assert find_caller(database, token) is None
    with open_reader(database) as session:
        assert not has_keys(session)


def test_key_is_revoked_by_its_first_characters(database):
    issued = add_key(database)
    with open_writer(database) as session:
        assert revoke_access_key(session, issued.prefix, now=LATER) == "counter"


def test_name_is_free_again_after_revocation(database):
    add_key(database)
    with pytest.raises(Conflict, match="already"):
        add_key(database)
    with open_writer(database) as session:
        revoke_access_key(session, "counter", now=LATER)
    add_key(database)
    with open_reader(database) as session:
        assert [key.state for key in list_access_keys(session, now=LATER)] == ["revoked", "alive"]


def test_database_holds_one_living_key_of_a_name(database):
    add_key(database)
    with pytest.raises(IntegrityError), open_writer(database) as session:
        session.add(
            AccessKey(name="counter", role="read", prefix="0" * 8, digest_sha256="0" * 64, made_at_utc=NOON)
        )


def test_unknown_key_is_not_revoked_and_the_nearest_is_named(database):
    add_key(database, "counter laptop")
    with pytest.raises(NotFound, match="'counter laptop'"), open_writer(database) as session:
        revoke_access_key(session, "counter labtop", now=LATER)


@pytest.mark.parametrize("name", ["", "  ", "x" * 61, "a\nb", "a\x1b[31m", "-x", "<b>"])
def test_odd_names_are_refused(database, name):
    with pytest.raises(BadInput, match="1 to 60 letters"):
        add_key(database, name)


def test_key_that_has_expired_already_is_refused(database):
    with pytest.raises(BadInput, match="expired"):
        add_key(database, expires=NOON)


def test_sign_in_ends_when_told_or_when_unused_for_12_hours(database):
    issued = add_key(database)
    first, second = sign_in(database, issued.key), sign_in(database, issued.key)
    with open_writer(database) as session:
        remove_sign_in(session, first)
    assert find_caller(database, first) is None
    assert find_caller(database, second) is not None
    assert find_caller(database, second, now=NOON + timedelta(hours=12)) is None


def test_use_is_written_down_and_keeps_the_sign_in_alive(database):
    issued = add_key(database)
    token = sign_in(database, issued.key)
    caller = find_caller(database, token)
    used = NOON + timedelta(hours=11)
    with open_writer(database) as session:
        note_use(session, key_id=caller.key_id, sign_in_id=caller.sign_in_id, now=used)
    assert find_caller(database, token, now=NOON + timedelta(hours=20)).last_used_at_utc == used
    with open_reader(database) as session:
        assert list_access_keys(session, now=used)[0].last_used_at_utc == used


def test_dead_sign_ins_are_swept_at_the_next_one(database):
    issued = add_key(database)
    sign_in(database, issued.key)
    with open_writer(database) as session:
        add_sign_in(session, find_holder(database, issued.key).key_id, now=NOON + timedelta(days=8))
    with open_reader(database) as session:
        assert len(session.exec(select(AccessSession)).all()) == 1
