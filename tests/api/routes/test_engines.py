"""Engines over HTTP: pages of the list, search, and everything recorded of one."""

import pytest
from fastapi.testclient import TestClient

from api.answers.engines import ENGINE_EXAMPLE, FASTENER_EXAMPLE


def test_pages_together_hold_every_engine_once(client: TestClient):
    path, codes, pages = "/api/engines?limit=7", [], 0
    while path:
        response = client.get(path)
        codes += [engine["engine"] for engine in response.json()["engines"]]
        path = response.links.get("next", {}).get("url")
        pages += 1
    assert (len(codes), len(set(codes)), pages) == (24, 24, 4)
    assert codes == sorted(codes)


def test_last_page_has_no_mark(client: TestClient):
    response = client.get("/api/engines", params={"limit": 200})
    assert response.json()["after"] is None
    assert "link" not in response.headers


@pytest.mark.parametrize("limit", ["0", "201", "-1", "x"])
def test_limit_outside_1_to_200_is_refused(client: TestClient, limit: str):
    assert client.get("/api/engines", params={"limit": limit}).status_code == 422


@pytest.mark.parametrize("after", ["plover", "%%%", "cGxvdmVy=", "AA", "é"])
def test_mark_that_was_not_given_out_is_refused(client: TestClient, after: str):
    response = client.get("/api/engines", params={"after": after})
    assert response.status_code == 422
    assert response.json()["field"] == "after"


def test_text_finds_engines_by_vehicle_and_keeps_it_on_the_next_page(client: TestClient):
    response = client.get("/api/engines", params={"q": "larrimer sorrelle 50"})
    assert "plover-50-s" in [engine["engine"] for engine in response.json()["engines"]]
    first = client.get("/api/engines", params={"q": "plover", "limit": 2})
    assert "q=plover" in first.links["next"]["url"]


def test_percent_sign_is_a_letter_like_any_other(client: TestClient):
    assert client.get("/api/engines", params={"q": "%"}).json()["engines"] == []


def test_sheet_holds_what_is_recorded(client: TestClient):
    sheet = client.get("/api/engines/plover-50-s").json()
    assert sheet.items() >= ENGINE_EXAMPLE.items()
    belt = next(need for need in sheet["needs"] if need["position"] == "drive_belt")
    assert belt["size"]["length_mm"] == 669
    assert belt["source"] == "man-plover"
    assert {"man-plover", "mea-bench-2025"} <= {source["source"] for source in sheet["sources"]}
    assert sheet["drives"][0]["centre_distance_mm"] == 221
    limit = next(row for row in sheet["wear_limits"] if row["position"] == "drive_belt")
    assert (limit["nominal"], limit["limit"], limit["sense"]) == (18, 16.5, "min")


def test_torque_has_both_units_and_its_cautions_beside_it(client: TestClient):
    sheet = client.get("/api/engines/plover-50-s").json()
    crank_nut = next(row for row in sheet["fasteners"] if row["position"] == "crank_nut")
    # 1 lbf·ft = 1.3558179483314004 N·m (exact by definition of pound, foot and standard gravity):
    # 38 / 1.35581... = 28.03.
    assert crank_nut["torque_lbf_ft"] == 28.03
    assert crank_nut.items() >= FASTENER_EXAMPLE.items()
    assert crank_nut["cautions"][0]["signal"] == "WARNING"
    assert any("manual" in caution["avoidance"] for caution in crank_nut["cautions"])


def test_every_fastener_of_every_engine_has_cautions(client: TestClient):
    for engine in client.get("/api/engines", params={"limit": 200}).json()["engines"]:
        for row in client.get(f"/api/engines/{engine['engine']}").json()["fasteners"]:
            assert row["cautions"], (engine["engine"], row["position"])


def test_alternatives_never_hold_what_does_not_fit(client: TestClient):
    answer = client.get("/api/engines/plover-50-s/alternatives", params={"position": "drive_belt"}).json()
    assert (answer["engine"], answer["position"]) == ("plover-50-s", "drive_belt")
    assert len(answer["alternatives"]) >= 3
    assert {item["outcome"] for item in answer["alternatives"]} <= {"fits", "fits_with_change"}


def test_unknown_position_names_the_nearest(client: TestClient):
    response = client.get("/api/engines/plover-50-s/alternatives", params={"position": "drive_bolt"})
    assert response.status_code == 404
    assert response.json()["nearest"][0] == "drive_belt"
