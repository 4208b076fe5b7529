"""Reorder on the command line: exit statuses and shapes that scripts rely on."""

import csv
import io
import json

import pytest
from click.testing import CliRunner

from api.cli import group

DAY = ("--as-of", "2026-11-20")


@pytest.fixture
def run(demo_path):
    def call(*arguments):
        return CliRunner().invoke(group, [*arguments, "--db", str(demo_path)])

    return call


def test_something_low_is_status_ten_and_is_said_in_words(run):
    result = run("low-stock", "--location", "counter", *DAY)
    assert result.exit_code == 10
    assert "supplier takes" in result.output
    assert "\x1b" not in result.output


def test_json_json_lines_and_csv_tell_the_same_lines(run):
    whole = json.loads(run("low-stock", *DAY, "--json").output)
    lines = [json.loads(line) for line in run("low-stock", *DAY, "--json-lines").output.splitlines()]
    rows = list(csv.DictReader(io.StringIO(run("low-stock", *DAY, "--csv").output)))
    assert whole["location"] is None
    assert lines == whole["lines"]
    assert [row["part_number"] for row in rows] == [line["part_number"] for line in lines]


def test_a_bad_day_is_wrong_use_and_an_unknown_place_fails(run):
    assert run("low-stock", "--as-of", "20.11.2026").exit_code == 2
    assert "nearest spelling is 'counter'" in str(run("low-stock", "--location", "countr").exception)


def test_orders_are_drafted_by_supplier(run):
    answer = json.loads(run("order-draft", *DAY, "--supplier", "kestrow", "--json").output)
    assert [order["supplier"] for order in answer["orders"]] == ["kestrow"]
    rows = list(csv.DictReader(io.StringIO(run("order-draft", *DAY, "--csv").output)))
    assert {row["supplier"] for row in rows} > {"kestrow", "harrenbeck"}
    assert "Value" in run("order-draft", *DAY, "--top-up").output


def test_the_backtest_prints_rules_and_writes_a_plot(run, tmp_path):
    plot = tmp_path / "plot.svg"
    result = run("backtest", *DAY, "--plot", str(plot))
    assert (result.exit_code, "this method" in result.output) == (0, True)
    assert plot.read_text().startswith("<svg")
    assert json.loads(run("backtest", *DAY, "--json").output)["rules"][0]["fill_rate"] > 0.9
