"""A repetition that comes while the first posting is at work: 409 with ``Retry-After``, nothing booked twice.

Source: IETF draft "The Idempotency-Key HTTP Header Field", October 2025: 409 for a request under way.
"""

import threading

from fastapi.testclient import TestClient
from sqlalchemy import Engine, text

BELT = {"maker": "Brackenloop", "part_number": "LP-669-18-30", "location": "counter"}


def receive(client: TestClient, key: str = "k-1"):
    body = BELT | {"kind": "receive", "quantity": 1}
    return client.post("/api/stock/moves", json=body, headers={"Idempotency-Key": key})


def test_a_repetition_meanwhile_is_told_when_to_ask_again(client: TestClient, demo_engine: Engine):
    answers = []
    first = threading.Thread(target=lambda: answers.append(receive(client)))
    with demo_engine.execution_options(write=True).connect() as other:
        other.execute(text("DELETE FROM answered_request"))  # another writer: the first posting waits for it
        first.start()
        while not client.app.state.keys_under_way.has("k-1"):  # type: ignore[attr-defined]
            pass
        meanwhile = receive(client)
    first.join()
    assert (meanwhile.status_code, meanwhile.headers["retry-after"]) == (409, "1")
    assert meanwhile.json()["type"] == "urn:counterhand:problem:under-way"
    assert (answers[0].status_code, receive(client).text) == (201, answers[0].text)
    assert answers[0].json()["on_hand"] == 15  # 14 of stock.csv of the demo catalogue and this one


def test_other_keys_do_not_wait(client: TestClient):
    with client.app.state.keys_under_way.hold("k-1"):  # type: ignore[attr-defined]
        assert receive(client).status_code == 409
        assert receive(client, "k-2").status_code == 201
    assert receive(client).status_code == 201


def test_a_burst_of_one_key_books_once(client: TestClient):
    """16 at once: the first is done, the others get its answer or are told to ask again."""
    answers, gate = [], threading.Barrier(16)

    def ask() -> None:
        gate.wait()
        answers.append(receive(client))

    threads = [threading.Thread(target=ask) for _ in range(16)]
    [thread.start() for thread in threads]
    [thread.join() for thread in threads]
    done = {answer.text for answer in answers if answer.status_code == 201}
    told = [answer for answer in answers if answer.status_code != 201]
    assert len(done) == 1
    assert {(answer.status_code, answer.headers["retry-after"]) for answer in told} <= {(409, "1")}
    assert receive(client, "k-2").json()["on_hand"] == 16
