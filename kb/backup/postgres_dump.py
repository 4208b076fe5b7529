"""A copy of a PostgreSQL database and putting it back, by PostgreSQL's own programs.

``pg_dump`` writes its custom format from the very snapshot in which rows were counted and the ledger checked.
"""

import os
import shutil
import subprocess
from pathlib import Path

from sqlalchemy import make_url

from kb.errors import BadInput, Unavailable

LONGEST_SECONDS = 3600


def find_program(name: str, folder: Path | None = None) -> str:
    """Path of one of PostgreSQL's programs, in the folder named or on the search path.

    Raises:
        Unavailable: it is not installed.
    """
    found = shutil.which(name, path=str(folder)) if folder else shutil.which(name)
    if found is None:
        raise Unavailable(
            f"Program '{name}' was not found; install PostgreSQL's client programs of the server's version "
            "(package postgresql-client), or name their folder in COUNTERHAND_PG_BIN."
        )
    return found


def dump_database(url: str, target: Path, *, snapshot: str, programs: Path | None = None) -> None:
    """Write a custom-format dump of one snapshot to a file, then read its contents list back."""
    program = find_program("pg_dump", programs)
    _run([program, "--format=custom", f"--snapshot={snapshot}", f"--file={target}", "--no-password"], url)
    _run([find_program("pg_restore", programs), "--list", str(target)], None)


def load_dump(url: str, dump: Path, *, programs: Path | None = None) -> None:
    """Restore a dump into an empty database, all of it or nothing."""
    program = find_program("pg_restore", programs)
    name = make_url(url).database or "postgres"
    arguments = ["--single-transaction", "--exit-on-error", "--no-owner", "--no-privileges", "--no-password"]
    _run([program, *arguments, f"--dbname={name}", str(dump)], url)


def _run(arguments: list[str], url: str | None) -> None:
    environment = {**os.environ, **(_build_environment(url) if url else {})}
    try:
        done = subprocess.run(  # noqa: S603 - a fixed program, no shell
            arguments,
            env=environment,
            stdin=subprocess.DEVNULL,
            capture_output=True,
            text=True,
            errors="replace",
            timeout=LONGEST_SECONDS,
            check=False,
        )
    except subprocess.TimeoutExpired as error:
        raise Unavailable(f"'{Path(arguments[0]).name}' took longer than an hour and was stopped.") from error
    if done.returncode:
        said = [line for line in done.stderr.splitlines() if line.strip()] or ["no reason given"]
        reason = next((line for line in said if "error" in line.lower()), said[-1])
        raise Unavailable(f"'{Path(arguments[0]).name}' failed: {reason.strip()[:300]}")


def _build_environment(url: str) -> dict[str, str]:
    """The address for PostgreSQL's programs; by environment, so that no password shows in a process list."""
    parsed = make_url(url)
    if parsed.get_backend_name() != "postgresql":
        raise BadInput(f"'{parsed.get_backend_name()}' is not PostgreSQL.", field="db")
    query = {name: value if isinstance(value, str) else value[-1] for name, value in parsed.query.items()}
    given = {
        "PGHOST": parsed.host or query.get("host"),
        "PGPORT": str(parsed.port) if parsed.port else query.get("port"),
        "PGUSER": parsed.username or query.get("user"),
        "PGPASSWORD": parsed.password or query.get("password"),
        "PGDATABASE": parsed.database,
        "PGSSLMODE": query.get("sslmode"),
        "PGSSLROOTCERT": query.get("sslrootcert"),
    }
    return {name: value for name, value in given.items() if value}
