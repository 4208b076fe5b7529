"""A browser on the demo catalogue: a server of its own on a free port, and the system's Chromium."""

import os
import re
import shutil
import socket
import threading
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest
import uvicorn
from playwright.sync_api import ConsoleMessage, Page

from api.app import create_app
from importers.load import load_catalogue
from kb.database import open_database, open_writer
from kb.migrate import upgrade_schema

CHROMIUM = os.environ.get("COUNTERHAND_CHROMIUM") or shutil.which("chromium") or shutil.which("google-chrome")
FLAGS = [
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--disable-dev-shm-usage",
]
if os.geteuid() == 0:
    FLAGS.append("--no-sandbox")


@pytest.fixture(scope="session")
def browser_type_launch_args(browser_type_launch_args: dict) -> dict:
    if CHROMIUM is None:
        pytest.skip("no Chromium")
    return {**browser_type_launch_args, "executable_path": CHROMIUM, "args": FLAGS}


@pytest.fixture(scope="session")
def base_url(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    engine = open_database(f"sqlite:///{tmp_path_factory.mktemp('demo') / 'demo.db'}")
    upgrade_schema(engine)
    with open_writer(engine) as session:
        folder = Path(__file__).parents[2] / "demo_catalog"
        report = load_catalogue(session, folder, now=datetime(2026, 11, 20, tzinfo=UTC))
    assert not report.has_problems
    listener = socket.create_server(("127.0.0.1", 0))
    listener.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
    server = uvicorn.Server(uvicorn.Config(create_app(engine), log_level="warning", server_header=False))
    thread = threading.Thread(target=server.run, kwargs={"sockets": [listener]})
    thread.start()
    yield f"http://127.0.0.1:{listener.getsockname()[1]}"
    server.should_exit = True
    thread.join(timeout=10)
    listener.close()
    engine.dispose()


@pytest.fixture
def meant() -> re.Pattern[str]:
    """Complaints of the browser that a test brings about on purpose; none."""
    return re.compile("(?!)")


@pytest.fixture
def strict_page(page: Page, meant: re.Pattern[str]) -> Iterator[Page]:
    """A page that fails the test on any error or warning in its console."""
    complaints: list[str] = []

    def note(message: ConsoleMessage) -> None:
        if message.type in ("error", "warning") and not meant.search(message.text):
            complaints.append(message.text)

    page.on("console", note)
    page.on("pageerror", lambda error: complaints.append(str(error)))
    yield page
    assert complaints == []
