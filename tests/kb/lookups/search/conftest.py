"""The catalogue and the questions of the look-up tests, stored in both databases."""

import csv
import io
from pathlib import Path

import pytest

DATA = Path(__file__).parents[2] / "rules" / "match"


def read_rows(name):
    with (DATA / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def write_parts(rows):
    """A parts.csv of rows; all are of the part type that says least, so that the words decide."""
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(["maker", "part_number", "part_type", "description"])
    writer.writerows([row["maker"], row["part_no"], "other", row["description"]] for row in rows)
    return out.getvalue()


@pytest.fixture(scope="session")
def questions():
    return read_rows("lookup_queries.csv")


@pytest.fixture(scope="session")
def catalogue_file():
    """The test catalogue's 400 rows as a parts.csv."""
    return write_parts(read_rows("lookup_catalogue.csv"))


@pytest.fixture
def catalogue(database, load_files, catalogue_file):
    """A database of either kind with the 400 rows of the test catalogue."""
    report = load_files(database, parts=catalogue_file)
    assert not report.has_problems
    return database
