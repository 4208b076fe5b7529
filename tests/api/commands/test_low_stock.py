"""Reorder on the command line: exit statuses and shapes that scripts rely on."""

import csv
import io
import json
import os
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

import pytest
from click.testing import CliRunner

from api.cli import group

DAY = ("--as-of", "2026-11-20")
ROOT = Path(__file__).parents[3]
NOBODY = 65534
MAY_WRITE = 77
# Root becomes nobody after a first run on another file: by then all modules are read.
READ_ONLY_PROGRAM = f"""
import contextlib, io, os, sys
from api.cli import main
if os.getuid() == 0:
    with contextlib.redirect_stdout(io.StringIO()), contextlib.suppress(SystemExit):
        main([*sys.argv[2:], "--db", sys.argv[1]])
    os.setgroups([])
    os.setgid({NOBODY})
    os.setuid({NOBODY})
if os.access("shop.db", os.W_OK) or os.access(".", os.W_OK):
    sys.exit({MAY_WRITE})
main([*sys.argv[2:], "--db", "shop.db"])
"""


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


def test_a_database_that_only_may_be_read_is_enough(demo_path, tmp_path):
    """As a user without the right to write, neither the file (0444) nor its folder (0555)."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        shutil.copyfile(demo_path, tmp_path / "other.db")
        shutil.copyfile(demo_path, folder / "shop.db")
        (folder / "shop.db").chmod(0o444)
        folder.chmod(0o555)
        result = subprocess.run(
            [sys.executable, "-c", READ_ONLY_PROGRAM, tmp_path / "other.db", "low-stock", *DAY, "--json"],
            env={"HOME": name, "PATH": os.environ["PATH"], "PYTHONPATH": str(ROOT)},
            cwd=folder,
            capture_output=True,
            text=True,
            timeout=60,
            check=False,
        )
        left = sorted(path.name for path in folder.iterdir())
        folder.chmod(0o755)
    if result.returncode == MAY_WRITE:
        pytest.skip("this user may write everything")
    assert (result.returncode, result.stderr) == (10, "")
    assert json.loads(result.stdout)["lines"]
    assert left == ["shop.db"]


def test_what_nobody_asked_for_is_counted_and_listed_on_demand_only(run):
    whole = json.loads(run("low-stock", *DAY, "--json").output)
    untried = [line["part_number"] for line in whole["lines"] if line["untried"]]
    assert whole["untried"] == len(untried) > 0
    asked_for = json.loads(run("low-stock", *DAY, "--asked-for", "--json").output)
    assert asked_for["untried"] == 0
    assert [line for line in whole["lines"] if not line["untried"]] == asked_for["lines"]
    short, long = run("low-stock", *DAY).output, run("low-stock", *DAY, "--untried").output
    assert f"Nobody asked for these yet ({len(untried)})" in short
    assert all(number not in short and number in long for number in untried)


def test_what_a_person_decides_on_does_not_fill_an_order_up(run):
    answer = json.loads(run("order-draft", *DAY, "--location", "branch", "--top-up", "--json").output)
    orders = [order for order in answer["orders"] if order["supplier"]]
    assert any(line["needs_person"] for order in orders for line in order["lines"])
    for order in orders:
        counted = [line for line in order["lines"] if not line["needs_person"]]
        value = sum(line["suggested_quantity"] * line["unit_price_minor"] for line in counted)
        assert order["order_value_minor"] == value
        if value < order["free_freight_from_minor"]:
            assert order["missing_value_minor"] == order["free_freight_from_minor"] - value
    assert "to decide by hand" in run("order-draft", *DAY, "--location", "branch", "--top-up").output
