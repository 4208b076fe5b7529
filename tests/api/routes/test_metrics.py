"""Figures in the text form that Prometheus reads (exposition format 0.0.4, its syntax from memory)."""

import re

from fastapi.testclient import TestClient

SAMPLE = re.compile(r'[a-z_]+(\{[a-z]+="[^"\n]*"(,[a-z]+="[^"\n]*")*\})? [0-9.e+-]+')


def read_figures(client: TestClient) -> dict[str, float]:
    lines = client.get("/metrics").text.splitlines()
    return {line.rpartition(" ")[0]: float(line.rpartition(" ")[2]) for line in lines if line[0] != "#"}


def test_every_line_is_a_sample_or_describes_one(client: TestClient):
    response = client.get("/metrics")
    assert response.headers["content-type"].startswith("text/plain; version=0.0.4")
    assert response.text.endswith("\n")
    described = set()
    for line in response.text.splitlines():
        if line.startswith("# "):
            described.add(line.split()[2])
        else:
            assert SAMPLE.fullmatch(line), line
            assert re.sub(r"_(bucket|sum|count)$", "", line.split("{")[0].split()[0]) in described


def test_requests_are_counted_by_route_and_status_not_by_what_was_typed(client: TestClient):
    client.get("/api/engines/plover-50-s")
    client.get("/api/engines/zz")
    client.get("/api/engines/zz2")
    client.get("/no/such/address")
    figures = read_figures(client)
    name = "counterhand_requests_total"
    assert figures[name + '{method="GET",route="/api/engines/{engine}",status="200"}'] == 1
    assert figures[name + '{method="GET",route="/api/engines/{engine}",status="404"}'] == 2
    assert figures[name + '{method="GET",route="none",status="404"}'] == 1
    assert "zz" not in client.get("/metrics").text


def test_times_fill_buckets_that_add_up(client: TestClient):
    for _ in range(3):
        client.get("/healthz")
    figures = read_figures(client)
    buckets = [
        value for name, value in figures.items() if name.startswith("counterhand_request_seconds_bucket")
    ]
    assert buckets == sorted(buckets)
    assert buckets[-1] == figures["counterhand_request_seconds_count"] == 3
    assert figures["counterhand_request_seconds_sum"] > 0


def test_contents_of_the_database_are_counted(client: TestClient):
    figures = read_figures(client)
    assert figures["counterhand_parts"] > figures["counterhand_stocked_parts"] > 0
    assert figures["counterhand_engines"] > 0
    assert figures["counterhand_database_bytes"] > 100_000
