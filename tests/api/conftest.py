"""An application over the demo catalogue; the catalogue is loaded once and copied for each test."""

import sqlite3
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient
from sqlalchemy import Engine
from starlette.routing import Mount, Route

from api.app import create_app
from importers.load import load_catalogue
from kb.database import open_database, open_writer
from kb.migrate import upgrade_schema

ORIGIN = "http://127.0.0.1"


ListRoutes = Callable[[FastAPI], list[tuple[str, str]]]


@pytest.fixture(scope="session")
def list_routes() -> ListRoutes:
    """Function that lists method and path of every route of an application, hidden ones included."""

    def list_of(app: FastAPI) -> list[tuple[str, str]]:
        found: list[tuple[str, str]] = []

        def collect(routes, prefix=""):
            for route in routes:
                if isinstance(route, Mount):
                    found.append(("GET", prefix + route.path))
                elif isinstance(route, Route) or hasattr(route, "methods"):
                    found.extend((method, prefix + route.path) for method in route.methods or ())
                else:
                    collect(route.original_router.routes, prefix + (route.include_context.prefix or ""))

        collect(app.routes)
        return found

    return list_of


@pytest.fixture(scope="session")
def demo_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("demo") / "demo.db"
    engine = open_database(f"sqlite:///{path}")
    upgrade_schema(engine)
    with open_writer(engine) as session:
        folder = Path(__file__).parents[2] / "demo_catalog"
        report = load_catalogue(session, folder, now=datetime(2026, 11, 20, tzinfo=UTC))
    assert not report.has_problems
    engine.dispose()
    return path


@pytest.fixture
def demo_engine(demo_file: Path, tmp_path: Path) -> Iterator[Engine]:
    copy = tmp_path / "demo.db"
    with sqlite3.connect(demo_file) as source, sqlite3.connect(copy) as target:
        source.backup(target)
    source.close()
    target.close()
    engine = open_database(f"sqlite:///{copy}")
    yield engine
    engine.dispose()


@pytest.fixture
def client(demo_engine: Engine) -> Iterator[TestClient]:
    with TestClient(create_app(demo_engine), base_url=ORIGIN) as client:
        yield client
