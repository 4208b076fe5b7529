"""``counterhand find`` and ``counterhand read`` as a script sees them."""

import json
from pathlib import Path

import click
import pytest
from click.testing import CliRunner, Result

from api.cli import group
from api.cli import main as run_main
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


@pytest.fixture
def main(capsys: pytest.CaptureFixture[str]):
    """Function that runs the whole command line: its exit status and what it printed."""

    def run(*arguments: object) -> tuple[int, str, str]:
        with pytest.raises(SystemExit) as ended:
            run_main([str(word) for word in arguments])
        return (int(ended.value.code or 0), *capsys.readouterr())

    return run


def test_database_and_json_may_stand_before_the_command(main, demo_path):
    behind = main("find", "belt 669", "--db", demo_path, "--json")
    assert behind[0] == 0
    assert main("--db", demo_path, "--json", "find", "belt 669") == behind
    assert main("--db", demo_path, "find", "belt 669", "--json") == behind


def test_what_stands_behind_the_command_wins_and_the_environment_comes_last(main, demo_path, monkeypatch):
    assert main("--db", "no-such.db", "find", "belt 669", "--db", demo_path)[0] == 0
    monkeypatch.setenv("COUNTERHAND_DB", "no-such.db")
    assert main("--db", demo_path, "find", "belt 669")[0] == 0
    status, _out, said = main("find", "belt 669")
    assert (status, "no-such.db" in said) == (1, True)


def test_database_before_a_command_of_two_words_is_taken(main, demo_path):
    assert (
        main("--db", demo_path, "--json", "key", "list")[:2]
        == main("key", "list", "--json", "--db", demo_path)[:2]
    )


def list_commands(group, *names):
    for name in group.list_commands(None):
        command = group.get_command(None, name)
        if isinstance(command, click.Group):
            yield from list_commands(command, *names, name)
        else:
            yield " ".join((*names, name)), {option.name for option in command.params}


def test_every_command_takes_a_database_and_json():
    lacking = [name for name, options in list_commands(group) if not {"database_url", "as_json"} <= options]
    assert lacking == []
