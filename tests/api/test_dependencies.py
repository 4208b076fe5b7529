"""A writer's session commits before the answer is sent, and leaves nothing behind after an error."""

from fastapi.testclient import TestClient
from sqlalchemy import Engine
from sqlmodel import select

from api.app import create_app
from api.dependencies import Writer
from kb.database import open_reader
from kb.errors import Conflict
from kb.tables.sources import Source


def count_rows(engine: Engine) -> int:
    with open_reader(engine) as session:
        return len(session.exec(select(Source).where(Source.source == "x-1")).all())


def test_acknowledged_write_is_committed_before_the_answer_is_sent(demo_engine: Engine):
    app = create_app(demo_engine)
    seen_when_sending: list[int] = []

    @app.post("/api/note")
    def add_note(session: Writer) -> str:
        session.add(Source(source="x-1", kind="measured"))
        return "stored"

    async def watch(scope, receive, send):
        async def send_watched(message):
            if message["type"] == "http.response.start":
                seen_when_sending.append(count_rows(demo_engine))
            await send(message)

        await app(scope, receive, send_watched)

    assert TestClient(watch, base_url="http://127.0.0.1").post("/api/note").status_code == 200
    assert seen_when_sending == [1]


def test_write_that_ends_in_an_error_leaves_nothing(demo_engine: Engine):
    app = create_app(demo_engine)

    @app.post("/api/note")
    def add_note(session: Writer) -> str:
        session.add(Source(source="x-1", kind="measured"))
        session.flush()
        raise Conflict("No.")

    assert TestClient(app, base_url="http://127.0.0.1").post("/api/note").status_code == 409
    assert count_rows(demo_engine) == 0
