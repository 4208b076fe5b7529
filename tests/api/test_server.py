"""Slow clients are cut off and hurt nobody; what is no HTTP is answered like every other error.

The spans are a judgement of this project; here they are short, so that nobody waits.
"""

import contextlib
import socket
import threading
import time
from collections.abc import Iterator

import pytest
import uvicorn
from sqlalchemy import Engine

from api import server
from api.app import create_app
from api.commands.serve import bind
from api.server import Server, build_config, count_allowed_seconds

HEAD = b"GET /healthz HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n"
HALF_HEAD = b"GET /healthz HTTP/1.1\r\nHost: 127.0.0.1\r\nX-Slow: "
HALF_BODY = b"POST /sign-in HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Length: 1000\r\n\r\nkey=00"


@pytest.fixture
def port(demo_engine: Engine, monkeypatch: pytest.MonkeyPatch) -> Iterator[int]:
    monkeypatch.setattr(server, "RECEIVE_SECONDS", 0.4)
    monkeypatch.setattr(server, "LONGEST_RECEIVE_SECONDS", 0.8)
    monkeypatch.setattr(server, "STALL_SECONDS", 0.4)
    listener, is_up = bind("127.0.0.1", 0), threading.Event()
    app = create_app(demo_engine)

    @app.get("/api/stock/large")
    def give_much() -> str:
        return "x" * 30_000_000

    running = Server(build_config(app), on_start=is_up.set, on_stop=lambda: None)
    thread = threading.Thread(target=running.run, kwargs={"sockets": [listener]}, daemon=True)
    number = listener.getsockname()[1]
    thread.start()
    assert is_up.wait(10)
    yield number
    running.should_exit = True
    thread.join(15)
    assert not thread.is_alive()


def open_line(port: int, first: bytes = b"") -> socket.socket:
    line = socket.create_connection(("127.0.0.1", port), timeout=5)
    line.sendall(first)
    return line


def read_until_closed(line: socket.socket) -> bytes:
    """All that comes until the server closes the line; fails after 5 s of silence."""
    received = b""
    with line, contextlib.suppress(ConnectionResetError):
        while chunk := line.recv(65536):
            received += chunk
    return received


@pytest.mark.parametrize("sent", [b"", b"G", HALF_HEAD, HALF_BODY], ids=["nothing", "letter", "head", "body"])
def test_request_that_does_not_arrive_is_cut_off(port: int, sent: bytes):
    started = time.monotonic()
    read_until_closed(open_line(port, sent))
    assert 0.3 < time.monotonic() - started < 3


def test_trickle_does_not_keep_a_line_open(port: int):
    line = open_line(port, HALF_HEAD)
    line.settimeout(0.05)
    started = time.monotonic()
    with contextlib.suppress(ConnectionError, BrokenPipeError):
        while time.monotonic() - started < 4:
            line.sendall(b"x")
            with contextlib.suppress(TimeoutError):
                if line.recv(1) == b"":
                    break
    line.close()
    assert time.monotonic() - started < 3


def test_half_sent_second_request_is_cut_off(port: int):
    line = open_line(port, HEAD)
    assert b"200 OK" in line.recv(65536)
    line.sendall(HALF_HEAD)
    started = time.monotonic()
    read_until_closed(line)
    assert 0.3 < time.monotonic() - started < 3


def test_others_are_answered_while_forty_lines_stall(port: int):
    stalled = [open_line(port, HALF_HEAD) for _ in range(40)]
    for _ in range(5):
        line = open_line(port, HEAD.replace(b"\r\n\r\n", b"\r\nConnection: close\r\n\r\n"))
        assert b'{"status":"ok"}' in read_until_closed(line)
    for line in stalled:
        read_until_closed(line)


def test_reader_that_takes_nothing_is_cut_off(port: int):
    line = open_line(port, HEAD.replace(b"/healthz", b"/api/stock/large"))
    assert line.recv(10) == b"HTTP/1.1 2"
    for _ in range(2):  # the reader takes nothing for as long as it takes to cut off two others
        read_until_closed(open_line(port, HALF_HEAD))
    assert len(read_until_closed(line)) < 30_000_000


def test_large_answer_reaches_a_reader_that_takes_it(port: int):
    line = open_line(
        port,
        HEAD.replace(b"/healthz", b"/api/stock/large").replace(b"\r\n\r\n", b"\r\nConnection: close\r\n\r\n"),
    )
    assert len(read_until_closed(line)) > 30_000_000


def test_what_is_no_http_is_answered_with_a_problem_and_all_headers(port: int):
    answer = read_until_closed(open_line(port, b"Dear Sirs\r\n\r\n")).decode().lower()
    assert answer.startswith("http/1.1 400 ")
    assert "application/problem+json" in answer
    assert "content-security-policy: default-src 'none'" in answer
    assert "server:" not in answer


def test_web_sockets_are_not_spoken(port: int):
    upgrade = b"\r\nConnection: upgrade, close\r\nUpgrade: websocket\r\n\r\n"
    answer = read_until_closed(open_line(port, HEAD.replace(b"\r\n\r\n", upgrade)))
    assert answer.startswith(b"HTTP/1.1 200 ")


@pytest.mark.parametrize(("megabytes", "seconds"), [(0, 8), (1, 24), (2, 30), (25, 30)])
def test_upload_gets_longer_the_more_has_come_up_to_half_a_minute(megabytes: int, seconds: float):
    assert count_allowed_seconds(megabytes * 1024 * 1024) == seconds


def test_word_of_a_proxy_is_taken_only_when_it_is_named():
    def build(**named: str) -> uvicorn.Config:
        return build_config(lambda: None, **named)

    assert not build().proxy_headers
    named = build(proxy="192.0.2.7")
    assert (named.proxy_headers, named.forwarded_allow_ips) == (True, "192.0.2.7")
