"""The bench on the command line: agreed JSON, exit statuses, one line on standard error."""

import json

import pytest

from api.cli import COMMANDS, main

BENCH = ("card", "gauge", "tell-apart", "trace", "readings", "rollers")


@pytest.fixture
def run(demo_engine, tmp_path, monkeypatch, capsys):
    """Function that runs a command on the demo catalogue and gives exit status, output and error output."""
    demo_engine.dispose()
    monkeypatch.setenv("COUNTERHAND_DB", str(tmp_path / "demo.db"))

    def call(*words):
        with pytest.raises(SystemExit) as ended:
            main([*words])
        said = capsys.readouterr()
        return ended.value.code, said.out, said.err

    return call


def read(run, *words):
    code, out, err = run(*words, "--json")
    assert code == 0, err
    return json.loads(out)


@pytest.mark.parametrize("name", BENCH)
def test_every_command_has_help_with_an_example(run, name):
    assert name in COMMANDS
    code, out, _ = run(name, "--help")
    assert code == 0
    assert f"counterhand {name}" in out
    assert "Examples:" in out


def test_card_prints_cautions_before_the_torque_they_belong_to(run):
    code, out, _ = run("card", "plover-50-s", "clutch")
    assert code == 0
    nut = out[out.index("  clutch nut: M28x1.5") :]
    assert nut.index("WARNING: The contra spring is compressed") < nut.index(
        "55 N·m (40.6 lbf·ft, 5.61 kgf·m)"
    )
    assert out.index("Missing: settle this first") < out.index("Fasteners")
    assert "\x1b[" not in out


def test_card_says_each_caution_whole_once_and_names_it_again_where_it_holds(run):
    out = " ".join(run("card", "plover-50-s", "belt_service")[1].split())
    whole = "A torque holds for one fastener, thread and condition only. A wrong one strips a thread"
    assert out.count(whole) == 1
    assert out.count("WARNING as above: A torque holds for one fastener, thread and condition only.") > 3
    assert out.index(whole) < out.index("as above: A torque holds")
    assert "Sources [a] maker's manual: Sedgeholm Plover service book" in out
    assert "man-plover" not in out


def test_fit_names_its_sources_in_words_and_no_change_is_none(run):
    code, out, _ = run("fit", "plover-50-l", "669-18-30")
    said = " ".join(out.split())
    assert code == 5
    assert "it sits wrong. [a]" in said
    assert "Sources [a] maker's manual: Sedgeholm Plover service book" in said
    assert "man-plover" not in said
    assert "travel left at full shift: none, 54.5 mm short; unlike with the specified belt the rear" in said
    assert "+0.0 %" not in " ".join(
        run("fit", "plover-50-s", "669-18-30")[1].partition("What else")[2].split()
    )


def test_a_position_of_which_one_word_was_written_comes_first(run):
    code, _, error = run("gauge", "plover-50-s", "belt", "top_width", "17")
    assert code == 1
    assert "the nearest spellings are 'drive_belt' and" in error


def test_a_reading_that_counts_for_nothing_is_said_before_the_long_list(run):
    out = " ".join(run("tell-apart", "bore=abc")[1].split())
    assert out.index("'abc' is not a number") < out.index("Still possible: 24")
    assert "not recorded: bore" not in out


def test_card_as_json_is_the_answer_of_the_api(run):
    card = read(run, "card", "plover-50-s", "clutch")
    assert card["job"] == "clutch"
    assert any(tool["stand_in"] == "socket 1-1/2 in" for tool in card["tools"])


def test_gauge_says_no_more_figures_than_the_calliper_gives(run):
    said = " ".join(run("gauge", "plover-50-s", "drive_belt", "top_width", "16.9")[1].split())
    assert "[good]" in said
    assert "73 % of the wear allowance is used up. Inside the limit is not as new: top speed is down" in said
    assert "by up to about 12 % at the same engine speed" in said
    assert read(run, "gauge", "plover-50-s", "drive_belt", "top_width", "16.9")["used_percent"] == 73.3
    without = run("gauge", "plover-50-s", "rollers", "mass", "6.1")[1]
    assert "Size when new by maker's manual" in without
    assert "Limit by" not in without


def test_gauge_takes_a_decimal_comma_and_a_unit(run):
    assert read(run, "gauge", "plover-50-s", "drive_belt", "top_width", "16,6 mm")["state"] == "near_limit"


def test_tell_apart_takes_engines_and_facts_in_any_order(run):
    answer = read(run, "tell-apart", "case_length=402", "plover-50-s", "plover-50-l")
    assert [item["engine"] for item in answer["possible"]] == ["plover-50-s"]
    _, out, _ = run("tell-apart", "plover-50-s", "plover-50-l")
    assert "402 mm: plover-50-s" in out


def test_trace_names_part_and_stock(run):
    _, out, _ = run("trace", "slower", "than", "it", "used", "to", "be", "--engine", "plover-50-s")
    assert "1. drive belt: Belt has lost width" in out
    assert "on hand" in out


def test_rollers_are_refused_when_out_of_balance(run):
    assert (
        read(run, "rollers", "plover-50-s", "9", "6", "6", "6", "6", "6", "--radius", "30")["state"]
        == "refused"
    )
    _, out, _ = run("rollers", "plover-50-s", "7", "6,5", "7", "6,5", "7", "6,5")
    assert "[fine]" in out


def test_readings_are_written_shown_and_listed(run):
    line = (
        "readings",
        "add",
        "AB 1",
        "drive_belt",
        "top_width",
        "17.4",
        "--km",
        "6200",
        "--on",
        "2026-01-31",
    )
    code, out, _ = run(*line, "--engine", "plover-50-s")
    assert (code, out.splitlines()[0]) == (0, "Written down.")
    assert run(*line)[1].startswith("This line stands there already")
    assert read(run, "readings", "show", "ab-1")["series"][0]["readings"][0]["value"] == 17.4
    assert read(run, "readings", "list") == {
        "machines": [{"machine": "AB 1", "engine": "plover-50-s", "note": None}]
    }


@pytest.mark.parametrize(
    ("words", "code"),
    [
        (("card", "plover-50-s", "clutchh"), 1),
        (("card", "plover-50-s"), 2),
        (("gauge", "plover-50-s", "drive_bolt", "top_width", "16"), 1),
        (("gauge", "plover-50-s", "drive_belt", "top_width", "wide"), 2),
        (("tell-apart", "plover-50-x"), 1),
        (("tell-apart", "=402"), 2),
        (("trace", "slow", "--engine", "plover-50-x"), 1),
        (("rollers", "plover-50-s", "7", "7"), 1),
        (("readings", "show", "nobody"), 1),
        (("readings", "add", "AB 1", "drive_belt", "top_width", "17", "--on", "soon"), 2),
    ],
)
def test_mistakes_end_with_one_line_on_standard_error(run, words, code):
    ended, out, err = run(*words)
    assert (ended, out) == (code, "")
    assert err.startswith("counterhand: ")
    assert err.count("\n") == 1
