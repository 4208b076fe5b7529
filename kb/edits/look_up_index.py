"""The look-up's index, written in the same transaction as the rows that it finds.

Before stored rows change or go, their entries are forgotten; afterwards those that are still there are
written anew. Rows that are added are only written. The vocabulary counts in how many entries a term stands.
"""

from collections import Counter
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from itertools import chain, islice
from typing import Any

from sqlalchemy import Connection, bindparam, delete, func, select, update

from kb.entries import IDS_PER_QUESTION, Entry, build_analyser, read_all_parts, read_engines, read_parts
from kb.rules.match.analyser import Analyser
from kb.rules.match.trade import build_words_fingerprint
from kb.tables.columns import get_table
from kb.tables.look_up import get_engine_entry_id, get_part_entry_id

ENTRIES_PER_WRITE = 5_000
_TERMS_PER_WRITE = 400
_FEW_ROWS = 10
_LOCK = "SELECT pg_advisory_xact_lock(4708201)"

Term = tuple[str, str]


class LookUpIndex:
    """The index during one transaction.

    Args:
        connection: the writer's connection.
    """

    def __init__(self, connection: Connection) -> None:
        self.connection = connection
        self._is_sqlite = connection.dialect.name == "sqlite"
        self._mark = "?" if self._is_sqlite else "%s"
        self._counts: Counter[Term] = Counter()
        self._analyser: Analyser | None = None
        self._is_locked = False

    @property
    def analyser(self) -> Analyser:
        """The analyser with the trade names of now."""
        if self._analyser is None:
            self._analyser = build_analyser(self.connection)
        return self._analyser

    def lock(self) -> None:
        """One writer of the index at a time; SQLite has one writer anyway."""
        if not self._is_locked and not self._is_sqlite:
            self.connection.exec_driver_sql(_LOCK)
        self._is_locked = True

    def add_parts(self, part_ids: Collection[int]) -> None:
        """Write entries of parts that have none."""
        if part_ids:
            self._add(read_parts(self.connection, part_ids))

    def add_parts_after(self, part_id: int) -> None:
        """Write entries of all parts with a higher id."""
        self._add(read_all_parts(self.connection, after=part_id))

    def add_engines(self, engine_ids: Collection[int] | None = None) -> None:
        """Write entries of engines that have none."""
        if engine_ids is None or engine_ids:
            self._add(read_engines(self.connection, engine_ids))

    def forget_parts(self, part_ids: Collection[int]) -> None:
        """Take entries out, before the rows behind them change or go."""
        if part_ids:
            self._forget(read_parts(self.connection, part_ids), map(get_part_entry_id, part_ids))

    def forget_engines(self, engine_ids: Collection[int]) -> None:
        """Take entries of engines out, before their rows change or go."""
        if engine_ids:
            self._forget(read_engines(self.connection, engine_ids), map(get_engine_entry_id, engine_ids))

    def take_over(self, other: "LookUpIndex") -> None:
        """Count on from another index of the same transaction."""
        self._counts.update(other._counts)
        other._counts.clear()

    def finish(self) -> None:
        """Write the counts of the vocabulary; to be called once, after the last change."""
        counts = {
            (str(field), term): change for (field, term), change in sorted(self._counts.items()) if change
        }
        self._counts.clear()
        if not counts:
            return
        self.lock()
        if self._write_counts(counts):
            raise_version(self.connection, "terms_version")

    def _add(self, entries: Iterable[Entry]) -> None:
        analyse = self.analyser.analyse_row
        for group in _split(entries):
            rows: list[tuple[Any, ...]] = []
            keys: list[tuple[Any, ...]] = []
            for entry_id, row, entry_keys in group:
                analysed = analyse(row)
                rows.append((entry_id, " ".join(analysed.tokens)))
                keys += [(int(kind), key, entry_id) for kind, key in entry_keys]
                self._counts.update(analysed.terms)
            keys.sort()
            if keys and len(rows) <= _FEW_ROWS and not self._is_sqlite:
                self._insert_at_once(rows, keys)
                continue
            self.lock()
            self._insert("look_up_entry", ("id", "tokens"), rows)
            if self._is_sqlite:
                self._insert("look_up_text", ("rowid", "tokens"), rows)
            self._insert("look_up_key", ("kind", "key", "entry_id"), keys)

    def _insert_at_once(self, rows: Sequence[tuple[Any, ...]], keys: Sequence[tuple[Any, ...]]) -> None:
        """Lock, and insert a few entries with their keys, by one statement: each is a way to the server."""
        entry_marks = ", ".join(["(%s::bigint, %s)"] * len(rows))
        key_marks = ", ".join(["(%s::integer, %s, %s::bigint)"] * len(keys))
        self.connection.exec_driver_sql(
            f"WITH locked AS MATERIALIZED ({_LOCK}),"  # noqa: S608 - marks only
            " entry AS (INSERT INTO look_up_entry (id, tokens)"
            f" SELECT e.* FROM locked, (VALUES {entry_marks}) AS e)"
            " INSERT INTO look_up_key (kind, key, entry_id)"
            f" SELECT k.* FROM locked, (VALUES {key_marks}) AS k",
            tuple(chain.from_iterable((*rows, *keys))),
        )
        self._is_locked = True

    def _insert(self, table: str, columns: Sequence[str], rows: Sequence[tuple[Any, ...]]) -> None:
        """Insert rows; PostgreSQL takes many as one stream, several times as fast as one by one."""
        if not rows:
            return
        listed = ", ".join(columns)
        if self._is_sqlite or len(rows) <= _FEW_ROWS:
            marks = ", ".join([self._mark] * len(columns))
            # Table and columns are named above; only the values come from elsewhere.
            self.connection.exec_driver_sql(f"INSERT INTO {table} ({listed}) VALUES ({marks})", list(rows))  # noqa: S608
            return
        driver = self.connection.connection.driver_connection
        assert driver is not None  # a connection in use has one
        with driver.cursor() as cursor, cursor.copy(f"COPY {table} ({listed}) FROM STDIN") as copy:
            for row in rows:
                copy.write_row(row)

    def _forget(self, entries: Iterable[Entry], entry_ids: Iterable[int]) -> None:
        """Take entries out; what they added to the vocabulary is read from their rows, still unchanged."""
        self.lock()
        analyse = self.analyser.analyse_row
        key_table = get_table("look_up_key")
        for group in _split(entries):
            keys = []
            for entry_id, row, entry_keys in group:
                keys += [{"_kind": int(kind), "_key": key, "_entry_id": entry_id} for kind, key in entry_keys]
                self._counts.subtract(analyse(row).terms)
            self.connection.execute(
                delete(key_table).where(
                    key_table.c.kind == bindparam("_kind"),
                    key_table.c.key == bindparam("_key"),
                    key_table.c.entry_id == bindparam("_entry_id"),
                ),
                keys,
            ) if keys else None
        self._remove_tokens(sorted(entry_ids))

    def _remove_tokens(self, entry_ids: Sequence[int]) -> None:
        table = get_table("look_up_entry")
        for start in range(0, len(entry_ids), IDS_PER_QUESTION):
            group = entry_ids[start : start + IDS_PER_QUESTION]
            if self._is_sqlite:
                stored = self.connection.execute(
                    select(table.c.id, table.c.tokens).where(table.c.id.in_(group))
                ).all()
                if stored:  # the index takes a row out by what it holds of it
                    self.connection.exec_driver_sql(
                        "INSERT INTO look_up_text (look_up_text, rowid, tokens) VALUES ('delete', ?, ?)",
                        [tuple(row) for row in stored],
                    )
            self.connection.execute(delete(table).where(table.c.id.in_(group)))

    def _write_counts(self, counts: Mapping[Term, int]) -> bool:
        """Add changes to the stored counts; whether a term came or went."""
        terms = list(counts)
        has_changed = False
        row = f"({self._mark}, {self._mark}, {self._mark})"
        for start in range(0, len(terms), _TERMS_PER_WRITE):
            group = [(*term, counts[term]) for term in terms[start : start + _TERMS_PER_WRITE]]
            statement = (
                "INSERT INTO look_up_term (field, term, count)"  # noqa: S608 - marks only
                f" VALUES {', '.join([row] * len(group))} ON CONFLICT (field, term)"
                " DO UPDATE SET count = look_up_term.count + excluded.count RETURNING field, term, count"
            )
            written = self.connection.exec_driver_sql(statement, tuple(chain.from_iterable(group))).all()
            has_changed |= any(count == counts[field, term] for field, term, count in written)
            gone = [(field, term) for field, term, count in written if count <= 0]
            if gone:
                has_changed = True
                same = f"WHERE field = {self._mark} AND term = {self._mark}"
                self.connection.exec_driver_sql(f"DELETE FROM look_up_term {same}", gone)  # noqa: S608
        return has_changed


def raise_version(connection: Connection, column: str) -> None:
    """Tell every process that its copy of the terms or of the trade names is old."""
    table = get_table("look_up_state")
    connection.execute(update(table).values({column: table.c[column] + 1}))


def rebuild_index(connection: Connection) -> int:
    """Write the whole index anew from the rows; returns how many entries it has."""
    index = LookUpIndex(connection)
    index.lock()
    for name in ("look_up_entry", "look_up_key", "look_up_term"):
        connection.execute(delete(get_table(name)))
    if connection.dialect.name == "sqlite":
        connection.exec_driver_sql("INSERT INTO look_up_text (look_up_text) VALUES ('delete-all')")
    index.add_engines()
    index.add_parts_after(0)
    index.finish()
    raise_version(connection, "terms_version")
    raise_version(connection, "names_version")
    connection.execute(update(get_table("look_up_state")).values(words_fingerprint=build_words_fingerprint()))
    return connection.execute(select(func.count()).select_from(get_table("look_up_entry"))).scalar_one()


def is_written_with_other_words(connection: Connection) -> bool:
    """Whether the index is of a program with other trade words, or one that read rows in another way."""
    stored = connection.execute(select(get_table("look_up_state").c.words_fingerprint)).scalar_one()
    return bool(stored != build_words_fingerprint())


def rebuild_old_index(connection: Connection) -> None:
    """Write the index anew, unless another process has just done so."""
    LookUpIndex(connection).lock()
    if is_written_with_other_words(connection):
        rebuild_index(connection)


def _split(entries: Iterable[Any]) -> Iterator[list[Any]]:
    source = iter(entries)
    while group := list(islice(source, ENTRIES_PER_WRITE)):
        yield group
