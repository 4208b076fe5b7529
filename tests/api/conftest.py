"""An application over the demo catalogue; the catalogue is loaded once and copied for each test."""

import sqlite3
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest
from fastapi.testclient import TestClient
from sqlalchemy import Engine

from api.app import create_app
from importers.load import load_catalogue
from kb.database import open_database, open_writer
from kb.migrate import upgrade_schema

ORIGIN = "http://127.0.0.1"


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
