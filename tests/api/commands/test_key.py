"""``counterhand key``: shown once, listed without their text, taken back."""

import json


def test_key_is_shown_once_and_listed_without_its_text(run, shop):
    added = run("key", "add", "counter laptop", "--role", "stock", "--db", shop)
    key = added.stdout.strip()
    assert added.returncode == 0
    assert len(key) == 40
    assert "not shown again" in added.stderr
    listed = run("key", "list", "--db", shop)
    assert key not in listed.stdout
    assert "counter laptop" in listed.stdout
    assert key[:8] in listed.stdout


def test_key_as_json_and_its_end(run, shop):
    added = json.loads(
        run("key", "add", "boss", "--role", "admin", "--days", 3, "--json", "--db", shop).stdout
    )
    assert added.keys() == {"name", "role", "prefix", "key", "expires_at_utc"}
    ended = run("key", "revoke", "boss", "--db", shop)
    assert ended.returncode == 0
    assert "No key is left" in ended.stderr
    listed = json.loads(run("key", "list", "--json", "--db", shop).stdout)
    assert [(key["name"], key["state"]) for key in listed["keys"]] == [("boss", "revoked")]


def test_wrong_use_is_explained_in_one_line(run, shop):
    unknown = run("key", "revoke", "nobody", "--db", shop)
    assert (unknown.returncode, unknown.stderr.count("\n")) == (1, 1)
    no_role = run("key", "add", "boss", "--db", shop)
    assert (no_role.returncode, no_role.stderr.count("\n")) == (2, 1)
    assert "--role" in no_role.stderr
    bad_role = run("key", "add", "boss", "--role", "chief", "--db", shop)
    assert (bad_role.returncode, bad_role.stderr.count("\n")) == (2, 1)
