"""Loads what the reorder tests share: the simple forecasts of the bench, the made-up demand set."""

import csv
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path

import pytest

REPOSITORY = Path(__file__).parents[4]


@pytest.fixture(scope="session")
def baselines():
    spec = spec_from_file_location("reorder_baselines", REPOSITORY / "tests/bench/reorder_baselines.py")
    module = module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="session")
def synthetic_demand():
    """(part type, pieces by month from the first month on sale) of each part; made up, see README."""
    path = Path(__file__).with_name("wear_parts_synthetic.csv")
    with path.open(encoding="utf-8", newline="") as file:
        rows = list(csv.reader(file))[1:]
    return [(row[1], [int(cell) if cell else None for cell in row[2:]]) for row in rows]
