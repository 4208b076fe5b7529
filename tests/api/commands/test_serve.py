"""``counterhand serve`` as a process: which addresses, how it stops, what a locked or damaged database does.

Who may listen where: common practice, no source. Exit by 0 or by the signal, a second signal at once: targets
of this project.
"""

import json
import os
import select
import signal
import socket
import sqlite3
import threading
import time
import urllib.error
import urllib.request
from contextlib import closing

import pytest

HALF_BODY = b"POST /sign-in HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Length: 1000\r\n\r\nkey=00"
pytestmark = pytest.mark.skipif(os.name != "posix", reason="signals as POSIX has them")


def wait_until_ready(process):
    line = process.stdout.readline()
    assert "ready at http://127.0.0.1:" in line, line + process.stdout.read()
    return int(line.split("127.0.0.1:")[1].split("/")[0])


def ask(port, path, data=None):
    request = urllib.request.Request(f"http://127.0.0.1:{port}{path}", data=data)
    try:
        with urllib.request.urlopen(request, timeout=20) as response:
            return response.status, response.headers, response.read()
    except urllib.error.HTTPError as error:
        with error:
            return error.code, error.headers, error.read()


def wait_until_closed(port):
    """Returns when nobody listens any more."""
    until = time.monotonic() + 10
    while time.monotonic() < until:
        try:
            socket.create_connection(("127.0.0.1", port), timeout=1).close()
        except ConnectionRefusedError:
            return
        select.select([], [], [], 0.02)  # more lines than it can turn away would make it seem alive
    pytest.fail("the server still takes new lines")


@pytest.mark.parametrize("host", ["0.0.0.0", "::", "localhost.example", "192.0.2.1"])
def test_other_addresses_need_an_admin_key(run, shop, host):
    run("key", "add", "clerk", "--role", "stock", "--db", shop)
    refused = run("serve", "--host", host, "--port", 0, "--db", shop)
    assert (refused.returncode, refused.stderr.count("\n")) == (1, 1)
    assert "counterhand key add NAME --role admin" in refused.stderr
    assert "TLS" in refused.stderr


def test_only_this_machine_is_listened_to(start, shop):
    port = wait_until_ready(start("serve", "--port", 0, "--db", shop))
    own = {info[4][0] for info in socket.getaddrinfo(socket.gethostname(), port, socket.AF_INET)}
    for address in own - {"127.0.0.1", "127.0.1.1"}:
        with pytest.raises(OSError, match="refused"):
            socket.create_connection((address, port), timeout=2)
    assert ask(port, "/healthz")[0] == 200


def test_a_program_is_told_the_address_as_one_line_of_json(start, shop):
    process = start("serve", "--port", 0, "--db", shop, "--json")
    address = json.loads(process.stdout.readline())["address"]
    assert ask(int(address.rstrip("/").rpartition(":")[2]), "/healthz")[0] == 200


def test_first_signal_stops_gently_and_folds_in_the_log(start, shop):
    process = start("serve", "--port", 0, "--db", shop)
    port = wait_until_ready(process)
    assert ask(port, "/api/fit?engine=plover-50-s&asked=669-18-30")[0] == 200
    process.send_signal(signal.SIGTERM)
    assert process.wait(10) in (0, -signal.SIGTERM)
    assert not shop.with_name("shop.db-wal").exists()


def test_second_signal_ends_at_once(start, run, shop):
    process = start("serve", "--port", 0, "--db", shop)
    port = wait_until_ready(process)
    with socket.create_connection(("127.0.0.1", port)) as line:
        line.sendall(HALF_BODY)
        assert ask(port, "/healthz")[0] == 200  # by now the half request is at work
        process.send_signal(signal.SIGTERM)
        wait_until_closed(port)
        assert process.poll() is None
        started = time.monotonic()
        process.send_signal(signal.SIGTERM)
        assert process.wait(5) == -signal.SIGTERM
        assert time.monotonic() - started < 2
    assert run("check", "--db", shop).returncode == 0


def test_request_waits_for_a_lock_of_a_second_and_then_is_done(start, run, shop):
    key = run("key", "add", "boss", "--role", "admin", "--db", shop).stdout.strip()
    port = wait_until_ready(start("serve", "--port", 0, "--db", shop))
    with closing(sqlite3.connect(shop, isolation_level=None, check_same_thread=False)) as other:
        other.execute("BEGIN IMMEDIATE")
        release = threading.Timer(1.0, other.execute, ["COMMIT"])
        release.start()
        started = time.monotonic()
        status, _, _ = ask(port, "/sign-in", f"key={key}&next=/healthz".encode())
        waited = time.monotonic() - started
        release.join()
    assert status == 200  # signed in and sent on
    assert 0.8 < waited < 5


def test_request_that_waited_the_whole_busy_time_is_told_to_come_again(start, run, shop):
    key = run("key", "add", "boss", "--role", "admin", "--db", shop).stdout.strip()
    port = wait_until_ready(start("serve", "--port", 0, "--db", shop))
    with closing(sqlite3.connect(shop, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        started = time.monotonic()
        status, headers, body = ask(port, "/sign-in", f"key={key}".encode())
        waited = time.monotonic() - started
        assert status == 503
        assert headers["Retry-After"] == "2"
        assert "busy" in json.loads(body)["detail"]
        assert 4 < waited < 6.5
        assert ask(port, "/healthz")[0] == 200  # readers do not wait
        other.execute("ROLLBACK")
