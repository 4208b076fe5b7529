"""The bench on pages: what stands before what, and nothing that the content policy forbids."""

import re

import pytest

PAGES = (
    "/bench",
    "/card?engine=plover-50-l&job=full_drive_service",
    "/gauge?engine=plover-50-s&position=drive_belt&quantity=top_width&value=16.6",
    "/rollers?engine=plover-50-s&masses=7+6,5+7+6,5+7+6,5",
    "/tell-apart?wheel_diameter=12",
    "/trace?text=slower+than+it+used+to+be&engine=plover-50-s",
    "/readings",
)


@pytest.mark.parametrize("address", PAGES)
def test_pages_have_one_heading_of_the_first_rank_and_no_inline_style_or_script(client, address):
    answer = client.get(address)
    assert answer.status_code == 200
    assert not re.search(r"<script(?![^>]*src=)|\sstyle=|\son\w+=|javascript:", answer.text)
    assert "<h1" in answer.text
    assert "None" not in re.sub(r"None (?:is|of)", "", answer.text)


def test_on_the_card_every_fasteners_caution_stands_before_its_torque(client):
    page = client.get("/card?engine=plover-50-s&job=clutch").text
    blocks = page.split('<div class="fastener">')[1:]
    assert len(blocks) == 4
    for block in blocks:
        assert block.index('role="note"') < block.index('class="torque"')


def test_each_caution_stands_in_full_once_and_is_named_wherever_it_applies(client):
    page = client.get("/card?engine=plover-50-s&job=clutch").text
    hazard, avoidance = "The contra spring is compressed behind the clutch nut.", "let it relax"
    assert page.count(avoidance) == 1
    assert page.count(hazard) >= 5
    assert page.index(avoidance) < page.index("In full at the clutch nut")


def test_what_is_missing_stands_before_the_tools_and_steps(client):
    page = client.get("/card?engine=plover-50-s&job=clutch").text
    assert (
        page.index("Missing: settle this first") < page.index("For the whole job") < page.index('id="steps"')
    )


def test_cautions_are_not_hidden_in_a_collapsed_block(client):
    assert "<details" not in client.get("/card?engine=plover-50-s&job=clutch").text


def test_disputed_torques_are_marked(client):
    page = client.get("/card?engine=plover-50-l&job=rollers").text
    assert page.count("Sources differ.</strong>") == 2


@pytest.mark.parametrize(
    "address",
    [
        "/card?engine=plover-50-x&job=clutch",
        "/card?engine=plover-50-s&job=nope",
        "/gauge?engine=plover-50-s&position=nope&quantity=x&value=1",
        "/tell-apart?engine=plover-50-x",
        "/trace?text=slow&engine=plover-50-x",
        "/rollers?engine=plover-50-x&masses=7+7+7",
        "/readings/nobody",
    ],
)
def test_unknown_names_are_404_and_said(client, address):
    answer = client.get(address, headers={"accept": "text/html"})
    assert answer.status_code == 404
    assert "nearest" in answer.text or "near it" in answer.text


def test_gauge_draws_where_the_belt_now_rides_only_where_an_angle_is_known(client):
    with_angle = client.get(
        "/gauge?engine=plover-50-s&position=drive_belt&quantity=top_width&value=16.6"
    ).text
    without = client.get("/gauge?engine=dunlin-50-e&position=drive_belt&quantity=top_width&value=16.6").text
    assert "ride-belt-title" in with_angle
    assert "ride-belt-title" not in without


def test_refused_rollers_say_so_on_the_page(client):
    page = client.get("/rollers?engine=plover-50-s&masses=9+6+6+6+6+6&radius=30").text
    assert "must not go in" in page
    assert "out of balance" in page


def test_one_question_at_a_time_with_a_way_back(client):
    page = client.get("/tell-apart?engine=plover-50-s&engine=plover-50-l").text
    assert "How long is the drive case?" in page
    answer = client.get("/tell-apart?engine=plover-50-s&name=case_length&value=402", follow_redirects=False)
    assert (answer.status_code, answer.headers["location"]) == (
        303,
        "/tell-apart?engine=plover-50-s&case_length=402",
    )
    after = client.get("/tell-apart?engine=plover-50-s&engine=plover-50-l&case_length=402").text
    assert 'href="/tell-apart?engine=plover-50-s&amp;engine=plover-50-l"' in after
    assert "Only one is left" in after


def test_a_question_that_cannot_be_measured_is_skipped(client):
    page = client.get("/tell-apart?engine=plover-50-s&engine=plover-50-l&skip=case_length").text
    assert "How long is the drive case?" not in page
    assert "not measured: case length" in page


def test_a_reading_is_written_down_and_drawn(client):
    for value, km in (("18", "0"), ("17,5", "2000"), ("17", "4000")):
        form = {"machine": "AB 1", "engine": "plover-50-s", "position": "drive_belt", "quantity": "top_width"}
        answer = client.post(
            "/readings", data=form | {"value": value, "odometer": km}, follow_redirects=False
        )
        assert (answer.status_code, answer.headers["location"]) == (303, "/readings/AB%201")
    page = client.get("/readings/AB%201").text
    assert "About 2000 km left" in page
    assert 'class="limit"' in page
    assert 'class="band"' in page
    assert "measure again" in page


def test_a_form_with_a_mistake_keeps_what_was_typed_and_writes_nothing(client):
    form = {"machine": "AB 1", "engine": "plover-50-s", "position": "drive_belt", "quantity": "top_width"}
    answer = client.post("/readings", data=form | {"value": "wide"})
    assert answer.status_code == 422
    assert 'value="wide"' in answer.text
    assert client.get("/api/machines").json()["machines"] == []


def test_a_form_from_another_site_is_refused(client):
    answer = client.post(
        "/readings", data={"machine": "AB 1"}, headers={"origin": "http://elsewhere.example"}
    )
    assert answer.status_code == 403


def test_what_a_person_types_is_shown_as_text(client):
    page = client.get("/trace?text=%3Cscript%3Ealert(1)%3C/script%3E").text
    assert "<script>alert" not in page
