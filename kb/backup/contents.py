"""What is in a database: rows by table, and whether everything holds that must."""

from sqlalchemy import func, inspect, select, table, text
from sqlmodel import Session

from kb.errors import Unavailable
from kb.lookups.check import check_database

_INSIDE = ("look_up_text", "sqlite_", "alembic_version")


def count_rows(session: Session) -> dict[str, int]:
    """Rows of every table, but of those that the database keeps for itself."""
    names = inspect(session.connection()).get_table_names()
    counted = sorted(name for name in names if not name.startswith(_INSIDE))
    return {
        name: int(session.execute(select(func.count()).select_from(table(name))).scalar_one())
        for name in counted
    }


def verify_file(session: Session, what: str) -> None:
    """Refuse a SQLite file that is damaged; all that can be said of tables of another version.

    Raises:
        Unavailable: the file is damaged or a reference points at nothing.
    """
    found = [str(answer) for answer in session.execute(text("PRAGMA integrity_check(5)")).scalars()]
    found = [] if found == ["ok"] else found
    found += [
        f"table {row[0]} refers to nothing" for row in session.execute(text("PRAGMA foreign_key_check"))
    ]
    if found:
        raise Unavailable(f"{what} is damaged: {'; '.join(found[:5])}.")


def verify(session: Session, what: str) -> None:
    """Refuse a database in which something does not hold.

    Raises:
        Unavailable: the file is damaged, or references, ledger or chains are broken.
    """
    failed = [result for result in check_database(session) if not result.ok]
    if failed:
        found = "; ".join(f"{result.what}: {result.detail}" for result in failed)
        raise Unavailable(f"{what} does not pass the check ({found}); see: counterhand check.")
