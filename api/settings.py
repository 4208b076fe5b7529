"""The only place that looks at the environment and at where files of the user live."""

import hashlib
import os
from pathlib import Path

import click

DATABASE_VARIABLE = "COUNTERHAND_DB"
POSTGRES_PROGRAMS_VARIABLE = "COUNTERHAND_PG_BIN"
PROXY_VARIABLE = "COUNTERHAND_PROXY"
HOSTS_VARIABLE = "COUNTERHAND_HOSTS"


def get_data_folder() -> Path:
    """Folder for the database when none is named; made on demand, for this user only."""
    folder = Path(click.get_app_dir("counterhand"))
    if os.name == "posix" and os.uname().sysname != "Darwin":
        home = os.environ.get("XDG_DATA_HOME") or str(Path.home() / ".local" / "share")
        folder = Path(home) / "counterhand"
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    return folder


def get_default_database() -> str:
    """URL of the user's own SQLite file."""
    return f"sqlite:///{get_data_folder() / 'counterhand.db'}"


def get_waiting_folder(database_url: str | None) -> Path:
    """Folder for counts under way and uploaded sheets: one per database, because they name its rows."""
    name = hashlib.sha256((database_url or get_default_database()).encode()).hexdigest()[:16]
    return get_data_folder() / "waiting" / name


def list_allowed_hosts() -> tuple[str, ...]:
    """Host names, besides those of this machine, under which the pages may be asked for."""
    return tuple(name.strip() for name in os.environ.get(HOSTS_VARIABLE, "").split(",") if name.strip())


def get_postgres_programs() -> Path | None:
    """Folder of PostgreSQL's own programs, where it is not on the search path."""
    folder = os.environ.get(POSTGRES_PROGRAMS_VARIABLE)
    return Path(folder) if folder else None


def get_trusted_proxy() -> str | None:
    """Address of the one proxy whose word on scheme and client address is taken; nobody's by default."""
    return os.environ.get(PROXY_VARIABLE, "").strip() or None
