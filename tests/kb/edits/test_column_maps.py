"""Columns of lists: remembered under a name and a kind, replaced, listed newest first, forgotten."""

from datetime import UTC, datetime, timedelta

import pytest

from kb.database import open_reader, open_writer
from kb.edits.column_maps import ColumnMap, change_column_map, remove_column_map
from kb.errors import BadInput, NotFound
from kb.lookups.column_maps import get_column_map, list_column_maps

NOW = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)


def remember(engine, name="alder", kind="offers", key="a|b", now=NOW):
    with open_writer(engine) as session:
        change_column_map(session, ColumnMap(name, kind, key, "{}"), now=now)


def test_same_name_and_kind_is_replaced_and_the_newest_comes_first(database):
    remember(database)
    remember(database, name="birch", now=NOW + timedelta(hours=1))
    remember(database, key="a|c", now=NOW + timedelta(hours=2))
    with open_reader(database) as session:
        rows = [(row.name, row.headings_key) for row in list_column_maps(session)]
    assert rows == [("alder", "a|c"), ("birch", "a|b")]


def test_name_of_several_kinds_asks_which(database):
    remember(database)
    remember(database, kind="stock")
    with open_reader(database) as session:
        assert get_column_map(session, "alder", "stock").kind == "stock"
        with pytest.raises(BadInput, match="several kinds: offers, stock"):
            get_column_map(session, "alder")
        with pytest.raises(NotFound, match="nearest spelling is 'alder'"):
            get_column_map(session, "aldr")


def test_what_is_forgotten_is_gone(database):
    remember(database)
    with open_writer(database) as session:
        remove_column_map(session, "alder", "offers")
        with pytest.raises(NotFound, match="Nothing is remembered as 'alder'"):
            remove_column_map(session, "alder", "offers")
        assert list_column_maps(session) == []


@pytest.mark.parametrize("name", ["", "  ", "a" * 61, "a\x07b"])
def test_name_must_be_one(database, name):
    with pytest.raises(BadInput, match="is no name to remember columns by"):
        remember(database, name=name)
