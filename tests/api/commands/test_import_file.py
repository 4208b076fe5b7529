"""Single files on the command line: preview, saved mapping, good rows kept, taken back, ended midway."""

import json
import os
import signal
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner

from api.cli import group

MAIN = "from api.cli import main; main()"
LIST = "Marke;Teilenummer;Bezeichnung;Zork\nWren;B-743;CVT belt 743x20x30;1\nWren;--;Shop coat, blue;2\n"


@pytest.fixture
def run(tmp_path):
    def run(*arguments):
        arguments = [*map(str, arguments), "--db", str(tmp_path / "shop.db")]
        return CliRunner().invoke(group, arguments, prog_name="counterhand")

    return run


def test_mapping_is_saved_and_used_for_the_next_list(run, tmp_path):
    path, mapping = tmp_path / "list.csv", tmp_path / "wren.toml"
    path.write_text(LIST)
    asked = run("import", path, "--kind", "parts", "--dry-run")
    assert (asked.exit_code, "Heading 'Zork' is not clear" in asked.output) == (3, True)

    saved = run(
        "import", path, "--kind", "parts", "--column", "Zork=", "--save-mapping", mapping, "--dry-run"
    )
    assert (saved.exit_code, '"Zork" = ""' in mapping.read_text()) == (3, True)
    refused = tmp_path / "refused.csv"
    loaded = run("import", path, "--mapping", mapping, "--keep-good-rows", "--refused", refused, "--json")
    assert loaded.exit_code == 3
    report = json.loads(loaded.stdout)
    assert (report["files"][0]["added"], report["files"][0]["refused"]) == (1, 1)
    assert refused.read_text().splitlines()[0] == "line,problem,Marke,Teilenummer,Bezeichnung,Zork"
    assert refused.read_text().splitlines()[1].startswith("3,")

    path.write_text(LIST.replace("Bezeichnung", "Text"))
    changed = run("import", path, "--mapping", mapping)
    assert (changed.exit_code, "heading line is not the one" in changed.output) == (3, True)

    undone = run("undo-import", report["batch"])
    assert (undone.exit_code, "is taken back" in undone.output) == (0, True)
    assert run("undo-import", report["batch"]).exit_code == 1


def test_columns_are_remembered_by_name_and_a_changed_heading_line_is_noticed(run, tmp_path):
    path = tmp_path / "list.csv"
    path.write_text(LIST)
    said = ("--kind", "parts", "--column", "Zork=", "--keep-good-rows", "--remember", "wren")
    loaded = run("import", path, *said)
    assert (loaded.exit_code, "is remembered as 'wren'" in loaded.output) == (3, True)
    assert "nothing is remembered" in run("import", path, *said).output  # all of it was loaded before

    path.write_text(LIST.replace("B-743", "B-750").replace("743x20", "750x20"))
    again = run("import", path, "--mapping", "wren", "--keep-good-rows", "--json")
    assert json.loads(again.stdout)["files"][0]["added"] == 1
    path.write_text(LIST.replace("Bezeichnung", "Text"))
    changed = run("import", path, "--mapping", "wren")
    assert (changed.exit_code, "heading line is not the one" in changed.output) == (3, True)
    unknown = run("import", path, "--mapping", "wrenn")
    assert unknown.exit_code == 1
    assert "'wrenn' is no file either" in str(unknown.exception)
    assert "the nearest spelling is 'wren'" in str(unknown.exception)


def test_contract_file_needs_no_kind(run, tmp_path):
    path = tmp_path / "parts.csv"
    path.write_text("maker,part_number,part_type\nWren,B-743,drive_belt\n")
    assert run("import", path).exit_code == 0
    assert "Nothing changed" in run("import", path).output


def test_sheet_without_a_kind_or_of_an_unknown_one_is_wrong_use(run, tmp_path):
    path = tmp_path / "list.csv"
    path.write_text(LIST)
    unnamed, unknown = run("import", path), run("import", path, "--kind", "part")
    assert (unnamed.exit_code, "Add --kind with one of sources, engines" in unnamed.output) == (2, True)
    assert (unknown.exit_code, "Kind 'part' is not known; write one of" in unknown.output) == (2, True)


def test_change_of_a_name_referred_to_is_shown_by_name(run, tmp_path):
    path = tmp_path / "engines.csv"
    path.write_text("engine,family\nfinch-50,finch\n")
    assert run("import", path).exit_code == 0
    path.write_text("engine,family\nfinch-50,siskin\n")
    changed = json.loads(run("import", path, "--dry-run", "--json").stdout)
    assert changed["files"][0]["changes"][0]["values"] == [
        {"column": "family", "old": "finch", "new": "siskin"}
    ]


def test_reading_command_makes_no_database(run, tmp_path):
    asked = run("find", "belt")
    assert asked.exit_code == 1
    assert "There is no database at" in str(asked.exception)
    assert not (tmp_path / "shop.db").exists()


@pytest.mark.skipif(os.name != "posix", reason="signals")
@pytest.mark.parametrize("stop", [signal.SIGKILL, signal.SIGINT])
def test_import_that_is_ended_leaves_all_or_nothing(run, tmp_path, stop):
    path, rows = tmp_path / "parts.csv", 30_000
    path.write_text("maker,part_number,part_type\n" + "".join(f"Wren,N-{n},nut\n" for n in range(rows)))
    root = Path(__file__).parents[3]
    for delay_seconds in (0.8, 1.6, 2.4, 3.2):
        database = tmp_path / f"shop-{delay_seconds}.db"
        child = subprocess.Popen(
            [sys.executable, "-c", MAIN, "import", str(path), "--db", str(database)],
            env=os.environ | {"PYTHONPATH": str(root)},
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        try:
            child.wait(delay_seconds)
        except subprocess.TimeoutExpired:
            child.send_signal(stop)
            child.wait()
        connection = sqlite3.connect(database)
        has_tables = connection.execute("SELECT COUNT(*) FROM sqlite_master WHERE name = 'part'").fetchone()[
            0
        ]
        stored = connection.execute("SELECT COUNT(*) FROM part").fetchone()[0] if has_tables else 0
        connection.close()
        assert stored in (0, rows)
