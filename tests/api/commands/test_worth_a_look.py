"""Parts worth a look on the command line. Rows: the demo catalogue."""

import json

import pytest
from click.testing import CliRunner

from api.commands.alternatives import command as alternatives
from api.commands.fit import command as fit

HEADING = "Worth a look, not known to fit"


@pytest.mark.parametrize(
    ("command", "asked"), [(fit, ["plover-50-s", "N.78.035"]), (alternatives, ["plover-50-s", "clutch_bell"])]
)
def test_they_are_said_under_a_heading_of_their_own_and_in_json(demo_path, command, asked):
    runner = CliRunner()
    text = runner.invoke(command, [*asked, "--db", str(demo_path)]).output
    assert "N.35.403" in text[text.index(HEADING) :]
    answer = json.loads(runner.invoke(command, [*asked, "--json", "--db", str(demo_path)]).output)
    assert "N.35.403" in [item["part_number"] for item in answer["worth_a_look"]]


def test_nothing_is_said_where_sizes_decide(demo_path):
    text = CliRunner().invoke(fit, ["plover-50-s", "669-18-30", "--db", str(demo_path)]).output
    assert HEADING not in text
