"""Roles in order, and until when a key or a sign-in holds.

The order of roles and the spans (12 h without use, 7 days at most): judgement of this project.
"""

from datetime import UTC, datetime, timedelta

import pytest

from kb.rules.access import SignInSpan, digest_secret, is_allowed, is_key_alive, is_sign_in_alive
from kb.terms import Role

NOON = datetime(2026, 3, 1, 12, tzinfo=UTC)


@pytest.mark.parametrize(
    ("held", "opened"),
    [
        (Role.READ, {Role.READ}),
        (Role.STOCK, {Role.READ, Role.STOCK}),
        (Role.ADMIN, {Role.READ, Role.STOCK, Role.ADMIN}),
    ],
)
def test_role_opens_itself_and_what_is_below(held, opened):
    assert {needed for needed in Role if is_allowed(held, needed)} == opened


@pytest.mark.parametrize(("seconds", "alive"), [(-1, True), (0, False), (1, False)])
def test_key_ends_at_the_moment_of_its_expiry(seconds, alive):
    now = NOON + timedelta(seconds=seconds)
    assert is_key_alive(expires_at_utc=NOON, revoked_at_utc=None, now=now) is alive


def test_revoked_key_is_dead_even_before_its_expiry():
    assert not is_key_alive(expires_at_utc=None, revoked_at_utc=NOON, now=NOON - timedelta(days=1))


@pytest.mark.parametrize(
    ("made_hours_ago", "used_hours_ago", "alive"),
    [(0, 0, True), (11.9, 11.9, True), (12, 12, False), (167, 1, True), (168, 1, False), (-1, -1, False)],
)
def test_sign_in_ends_unused_after_12_hours_and_in_any_case_after_7_days(
    made_hours_ago, used_hours_ago, alive
):
    made, used = NOON - timedelta(hours=made_hours_ago), NOON - timedelta(hours=used_hours_ago)
    assert is_sign_in_alive(made, used, now=NOON, span=SignInSpan()) is alive


def test_digest_is_sha_256():
    # Published: FIPS 180-2, appendix B.1, the example "abc".
    assert digest_secret("abc") == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
