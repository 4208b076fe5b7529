"""Jobs on machines over HTTP and on the page: parts set aside from the bench card in one step."""

from fastapi.testclient import TestClient


def send(client: TestClient, path: str, key: str, **body):
    return client.post(path, json=body, headers={"Idempotency-Key": key})


def list_jobs(client: TestClient):
    return client.get("/api/jobs").json()["jobs"]


def open_job(client: TestClient, **changes):
    lines = [{"maker": "Brackenloop", "part_number": "LP-669-18-30", "quantity": 2}]
    body = {"machine": "AB 12", "location": "counter", "lines": lines} | changes
    answer = send(client, "/api/jobs", "open", **body)
    assert answer.status_code == 201, answer.text
    return answer.json()


def read_belt(client: TestClient):
    part = client.get("/api/stock?part=LP-669-18-30").json()["parts"][0]
    return next(place for place in part["places"] if place["location"] == "counter")


def test_parts_set_aside_are_committed_used_and_freed(client):
    job = open_job(client)
    assert (read_belt(client)["committed"], read_belt(client)["available"]) == (2, 12)
    line = job["lines"][0]["line"]
    address = f"/api/jobs/{job['job']}"
    used = send(client, address, "use", action="use", line=line, quantity=1).json()
    assert (used["lines"][0]["used"], used["lines"][0]["waiting"]) == (1, 1)
    assert send(client, address, "end", action="closed").json()["state"] == "closed"
    assert (read_belt(client)["on_hand"], read_belt(client)["committed"]) == (13, 0)
    assert list_jobs(client) == []


def test_more_than_is_there_may_be_set_aside_and_is_called_short(client):
    lines = [{"maker": "Brackenloop", "part_number": "LP-669-18-30", "quantity": 20}]
    assert open_job(client, lines=lines)["lines"][0]["short"] == 6
    assert read_belt(client)["available"] == -6
    low = client.get("/api/stock/low?location=counter&as_of=2026-11-20").json()["lines"]
    codes = {reason["code"] for line in low for reason in line["reasons"]}
    assert "available_negative" in codes or any(line["committed"] for line in low)


def test_the_parts_of_a_bench_card_are_set_aside_in_one_step(client):
    """A roller set is one unit, however many rollers the engine takes."""
    answer = send(
        client,
        "/api/jobs",
        "card",
        machine="AB 12",
        location="counter",
        engine="plover-50-s",
        job="full_drive_service",
    )
    assert answer.status_code == 201, answer.text
    lines = {line["position"]: line for line in answer.json()["lines"]}
    assert {"drive_belt", "rollers"} <= lines.keys()
    assert lines["rollers"]["quantity"] == 1
    assert client.get("/jobs", headers={"accept": "text/html"}).text.count("AB 12") == 1


def test_a_job_without_parts_engine_or_with_a_wrong_line_is_refused(client):
    answer = send(client, "/api/jobs", "none", machine="AB 12", location="counter")
    assert (answer.status_code, answer.json()["field"]) == (422, "lines")
    job = open_job(client)
    wrong = send(client, f"/api/jobs/{job['job']}", "x", action="use", line=99)
    assert wrong.status_code == 404
    assert client.get("/api/jobs/99").status_code == 404


def test_the_page_uses_and_cancels(client):
    job = open_job(client)
    form = {"key": "a", "action": "use", "line": str(job["lines"][0]["line"]), "quantity": "2"}
    page = {"accept": "text/html"}
    assert client.post(f"/jobs/{job['job']}", data=form, headers=page).status_code == 200
    assert read_belt(client)["on_hand"] == 12
    client.post(f"/jobs/{job['job']}", data={"key": "b", "action": "cancelled"}, headers=page)
    assert list_jobs(client) == []


def test_a_state_that_no_job_has_is_refused_with_the_list(client):
    response = client.get("/api/jobs?state=lost")
    assert response.status_code == 422
    assert "write one of open, closed, cancelled" in response.json()["detail"]


def test_jobs_come_page_by_page(client):
    body = {"machine": "AB 12", "location": "counter", "lines": []}
    numbers = [send(client, "/api/jobs", f"o{count}", **body).json()["job"] for count in range(3)]
    first = client.get("/api/jobs?limit=2")
    mark = first.json()["after"]
    assert [job["job"] for job in first.json()["jobs"]] == numbers[:0:-1]
    assert f"after={mark}" in first.headers["link"]
    second = client.get(f"/api/jobs?limit=2&after={mark}").json()
    assert ([job["job"] for job in second["jobs"]], second["after"]) == (numbers[:1], None)
    assert client.get("/api/jobs?after=made-up").status_code == 422
