"""``counterhand find`` and ``counterhand read`` as a script sees them."""

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from api.commands.find import command as find
from api.commands.read import command as read


@pytest.fixture
def ask(demo_path: Path):
    def run(command, *arguments: str) -> Result:
        return CliRunner().invoke(command, [*arguments, "--db", str(demo_path)])

    return run


def test_find_gives_the_shape_of_the_contract(ask):
    answer = json.loads(ask(find, "belt", "669", "18", "30", "--json").output)
    assert answer["query"] == "belt 669 18 30"
    assert answer["read_as"]["kind"] == "belt"
    assert answer["results"][0].keys() >= {
        "kind",
        "maker",
        "part_number",
        "part_type",
        "description",
        "engine",
        "score",
        "certainty",
        "why",
        "on_hand",
    }


def test_find_says_how_it_read_and_that_near_sizes_are_not_equal(ask):
    result = ask(find, "vario belt 670 18 30")
    assert result.exit_code == 0
    assert "Read as: belt, 670 × 18 × 30" in result.output
    assert "Nothing sure." in result.output
    assert "Near sizes, not equal" in result.output


@pytest.mark.parametrize(
    ("text", "status"),
    [
        ("743-20-30", 0),
        ("belt says 743 20 30, rollers 16x13 7 g", 0),
        ("17-28", 7),
        ("788-17-28-8-3", 7),
        ("no code here", 7),
    ],
)
def test_read_ends_with_seven_when_nothing_can_be_read(ask, text, status):
    assert ask(read, text).exit_code == status


def test_read_lists_the_codes_of_a_note(ask):
    answer = json.loads(ask(read, "belt says 743 20 30, rollers 16x13 7 g", "--json").output)
    assert [code["kind"] for code in answer["codes"]] == ["belt", "roller"]
    shown = ask(read, "belt says 743 20 30, rollers 16x13 7 g").output
    assert "'743 20 30': belt; length mm 743" in shown
