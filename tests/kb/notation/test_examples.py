"""Every example of the trade's notations reads as agreed.

The rows of notation_examples.csv were written down together with the notations, before this code: real
spellings of each kind with the reading agreed for them, refusals included. They use invented articles
only; article numbers have the prefixes for use inside one company.
"""

import csv
import json
from pathlib import Path

import pytest

from kb.notation.read import read_as_json

with (Path(__file__).parent / "notation_examples.csv").open(encoding="utf-8", newline="") as _file:
    ROWS = list(csv.DictReader(_file))


def assert_same(expected, found, path="result"):
    """Equal, numbers within 0.01 as the examples ask."""
    if isinstance(expected, dict):
        assert expected.keys() == found.keys(), path
        for key, value in expected.items():
            assert_same(value, found[key], f"{path}.{key}")
    elif isinstance(expected, list):
        assert len(expected) == len(found), path
        for place, value in enumerate(expected):
            assert_same(value, found[place], f"{path}[{place}]")
    elif isinstance(expected, int | float) and not isinstance(expected, bool):
        assert found == pytest.approx(expected, abs=0.01), path
    else:
        assert expected == found, path


def test_the_examples_are_complete():
    assert len(ROWS) == 136


@pytest.mark.parametrize("row", ROWS, ids=[f"{row['kind']}:{row['input']}" for row in ROWS])
def test_example_reads_as_agreed(row):
    found = read_as_json(row["input"], row["kind"])
    if not found["ok"]:
        message = found.pop("message")
        assert message.endswith(".")
        assert f"'{row['input']}'" in message
    assert_same(json.loads(row["expected_json"]), found)
