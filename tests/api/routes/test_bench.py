"""The bench over HTTP: the shapes that other programs rely on, and problems in one shape.

Cautions are data beside every torque, spring and impact record; signal words of ANSI Z535.6 (not read).
"""

import pytest

SIGNALS = {"DANGER", "WARNING", "CAUTION", "NOTICE"}
CARD_FASTENER = {
    "position", "thread", "hand", "drive", "across_flats_mm", "count", "torque_min_nm", "torque_nm",
    "torque_max_nm", "torque_lbf_ft", "single_use", "locking", "source",
}  # fmt: skip


def get(client, path, status=200, **params):
    answer = client.get(path, params=params)
    assert answer.status_code == status, answer.text
    return answer.json()


def test_card_has_the_agreed_shape(client):
    card = get(client, "/api/engines/plover-50-s/card", job="clutch")
    assert {"engine", "job", "fasteners", "tools", "parts", "limits", "steps", "missing", "cautions"} <= set(
        card
    )
    assert set(card["fasteners"][0]) >= CARD_FASTENER
    assert set(card["tools"][0]) >= {"tool", "size_mm", "owned", "stand_in", "for", "text"}
    assert set(card["parts"][0]) >= {"position", "maker", "part_number", "outcome", "on_hand", "needed"}
    assert set(card["limits"][0]) >= {"position", "quantity", "nominal", "limit", "unit", "source"}
    assert set(card["steps"][0]) >= {"step", "text", "position", "cautions"}
    assert all(isinstance(text, str) for text in card["missing"] + card["cautions"])


def test_cautions_are_data_with_four_parts_and_stand_before_the_torque(client):
    card = get(client, "/api/engines/plover-50-s/card", job="full_drive_service")
    for record in (*card["fasteners"], *card["steps"]):
        for caution in record["cautions"]:
            assert caution["signal"] in SIGNALS
            assert all(caution[name] for name in ("hazard", "consequence", "avoidance"))
    for item in card["fasteners"]:
        names = list(item)
        assert item["cautions"]
        assert names.index("cautions") < names.index("torque_nm")


def test_torques_stand_in_three_units_with_what_is_stored(client):
    card = get(client, "/api/engines/plover-50-s/card", job="belt_service")
    nut = next(item for item in card["fasteners"] if item["position"] == "crank_nut")
    # 38 N·m = 28.03 lbf·ft = 3.875 kgf·m, exact by definition, rounded to print.
    assert (nut["torque_nm"], nut["torque_lbf_ft"], nut["torque_kgf_m"]) == (38.0, 28.03, 3.87)
    assert (nut["torque_min_nm"], nut["torque_max_nm"]) == (35.0, 41.0)


def test_disputed_torques_are_never_one_row(client):
    card = get(client, "/api/engines/plover-50-l/card", job="rollers")
    rows = [item for item in card["fasteners"] if item["position"] == "crank_nut"]
    assert [(row["torque_nm"], bool(row["differs"])) for row in rows] == [(38.0, True), (43.0, True)]


@pytest.mark.parametrize(
    ("path", "params"),
    [
        ("/api/engines/plover-50-s/card", {"job": "clutchh"}),
        ("/api/engines/plover-50-x/card", {"job": "clutch"}),
        (
            "/api/engines/plover-50-s/gauge",
            {"position": "drive_bolt", "quantity": "top_width", "value": "16"},
        ),
        ("/api/trace", {"text": "slow", "engine": "plover-50-x"}),
        ("/api/tell-apart", {"engine": "plover-50-x"}),
        ("/api/engines/plover-50-x/rollers", {"mass": [7, 7, 7]}),
        ("/api/machines/nobody", {}),
    ],
)
def test_unknown_names_are_404_in_the_shape_of_problems(client, path, params):
    problem = get(client, path, 404, **params)
    assert problem["type"] == "urn:counterhand:problem:not-found"
    assert isinstance(problem["nearest"], list)


def test_gauge_has_the_agreed_shape(client):
    answer = get(
        client, "/api/engines/plover-50-s/gauge", position="drive_belt", quantity="top_width_mm", value="16,6"
    )
    agreed = {
        "engine": "plover-50-s", "position": "drive_belt", "quantity": "top_width", "value": 16.6,
        "unit": "mm", "nominal": 18.0,
        "limit": 16.5, "sense": "min", "state": "near_limit", "used_percent": 93.3,
        "source": "man-plover",
    }  # fmt: skip
    assert {name: answer[name] for name in agreed} == agreed
    assert answer["consequences"]
    assert answer["cautions"]


def test_spring_gauging_carries_the_spring_caution_as_data(client):
    answer = get(
        client,
        "/api/engines/plover-50-s/gauge",
        position="contra_spring",
        quantity="free_length",
        value="104",
    )
    assert any("contra spring is compressed" in caution["hazard"] for caution in answer["hazards"])


@pytest.mark.parametrize("value", ["-1", "wide", "16.6 kg"])
def test_values_that_are_none_are_422(client, value):
    problem = get(
        client,
        "/api/engines/plover-50-s/gauge",
        422,
        position="drive_belt",
        quantity="top_width",
        value=value,
    )
    assert problem["type"] == "urn:counterhand:problem:bad-input"


def test_tell_apart_has_the_agreed_shape(client):
    answer = get(client, "/api/tell-apart", engine=["plover-50-s", "plover-50-l"], kick_start="yes")
    assert [item["engine"] for item in answer["possible"]] == ["plover-50-l", "plover-50-s"]
    assert answer["possible"][0]["agrees"] == ["kick_start"]
    first = answer["measure_next"][0]
    assert set(first["splits"]) == {"402", "432"}
    assert first["how"]
    out = get(client, "/api/tell-apart", engine=["plover-50-s", "plover-50-l"], case_length="402")[
        "ruled_out"
    ]
    assert {name: out[0][name] for name in ("engine", "by", "value", "asked")} == {
        "engine": "plover-50-l", "by": "case_length", "value": 432.0, "asked": 402.0,
    }  # fmt: skip


def test_trace_gives_causes_with_checks_and_cautions(client):
    answer = get(client, "/api/trace", text="slower than it used to be", engine="plover-50-s")
    assert answer["causes"][0]["position"] == "drive_belt"
    assert answer["causes"][0]["check"]
    assert all(cause["hazards"] for cause in answer["causes"])


def test_rollers_are_arranged(client):
    answer = get(client, "/api/engines/plover-50-s/rollers", mass=[7, 7, 7, 6, 6, 6])
    assert answer["state"] == "fine"
    assert answer["order_masses_g"] == [7, 6, 7, 6, 7, 6]
    get(client, "/api/engines/plover-50-s/rollers", 422, mass=[7, 7])


def test_jobs_are_listed(client):
    assert "clutch" in [job["job"] for job in get(client, "/api/job-sheets")["jobs"]]


READING = {
    "engine": "plover-50-s",
    "position": "drive_belt",
    "quantity": "top_width",
    "value": 17.4,
    "odometer_km": 6200,
}


def test_a_reading_is_written_once_under_its_key(client):
    first = client.post("/api/machines/AB 1/readings", json=READING, headers={"Idempotency-Key": "k"})
    again = client.post("/api/machines/AB 1/readings", json=READING, headers={"Idempotency-Key": "k"})
    other = client.post(
        "/api/machines/AB 1/readings", json={**READING, "value": 17.0}, headers={"Idempotency-Key": "k"}
    )
    assert [first.status_code, again.status_code, other.status_code] == [201, 200, 409]
    book = get(client, "/api/machines/ab1")
    assert len(book["series"][0]["readings"]) == 1
    assert book["series"][0]["limit"] == 16.5


@pytest.mark.parametrize(
    "change", [{"value": -1}, {"value": "wide"}, {"taken_on": "soon"}, {"colour": "red"}]
)
def test_readings_that_are_none_are_422_and_nothing_is_written(client, change):
    answer = client.post("/api/machines/AB 1/readings", json={**READING, **change})
    assert answer.status_code == 422
    assert get(client, "/api/machines")["machines"] == []
