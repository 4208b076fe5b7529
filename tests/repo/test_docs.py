"""Text for people says what the code does: README commands run, tables of DEVELOPERS.md follow the code."""

import importlib.util
import os
import re
import shlex
import shutil
import subprocess
import sys
from pathlib import Path
from types import ModuleType

import pytest
from click.testing import CliRunner

from api.cli import COMMANDS, group
from api.settings import DATABASE_VARIABLE, HOSTS_VARIABLE

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")


def _load_tables() -> ModuleType:
    spec = importlib.util.spec_from_file_location(
        "developers_tables", Path(__file__).with_name("developers_tables.py")
    )
    assert spec
    assert spec.loader
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_tables_of_developers_page_follow_from_the_code() -> None:
    """If this fails: python tests/repo/developers_tables.py."""
    assert _load_tables().fill_in(DEVELOPERS) == DEVELOPERS


def test_readme_opens_with_the_job_and_names_both_commands() -> None:
    assert README.split("\n\n")[1].startswith("Counterhand answers the questions of a small scooter workshop")
    setup = "python3 -m venv .venv && .venv/bin/pip install -q -c constraints.txt"
    assert f"{setup} . && .venv/bin/counterhand demo" in README
    assert f"{setup} '.[test]' && .venv/bin/pytest" in README


def test_readme_first_answer_runs_as_printed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)
    monkeypatch.setenv(DATABASE_VARIABLE, str(tmp_path / "readme.db"))
    block = README.split("## A first answer")[1].split("```")[1]
    lines = [line.removeprefix(".venv/bin/counterhand ") for line in block.strip().splitlines()]
    assert 2 <= len(lines) < 5
    outputs = []
    for line in lines:
        result = CliRunner().invoke(group, shlex.split(line))
        assert result.exit_code in (0, 4), f"{line}: {result.output}"
        outputs.append(" ".join(result.output.split()))
    shown = README.split("The second line answers")[1].split("```")[1]
    for said in shown.strip().splitlines():
        assert said in outputs[1]


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_has_help_with_an_example(name: str) -> None:
    result = CliRunner().invoke(group, [name, "--help"])
    assert result.exit_code == 0
    assert f"counterhand {name}" in result.output.split("Example")[1]


def test_settings_table_names_every_variable_that_the_code_reads() -> None:
    read = {DATABASE_VARIABLE, HOSTS_VARIABLE}
    for path in [*ROOT.glob("api/**/*.py"), ROOT / "tests/conftest.py", *ROOT.glob("tests/browser/*.py")]:
        read |= set(re.findall(r"COUNTERHAND_[A-Z_]+", path.read_text(encoding="utf-8")))
    table = DEVELOPERS.split("## Settings")[1].split("##")[0]
    assert read - set(re.findall(r"COUNTERHAND_[A-Z_]+", table)) == set()


def test_every_bench_is_documented() -> None:
    for path in (ROOT / "tests/bench").glob("bench_*.py"):
        assert f"tests/bench/{path.name}" in DEVELOPERS


def test_every_room_of_the_page_exists() -> None:
    table = DEVELOPERS.split("## Rooms")[1].split("The arrow")[0]
    for room in re.findall(r"^\| `([a-z_/.]+)`", table, re.MULTILINE):
        assert (ROOT / room).exists(), room


def _list_script_lines() -> list[str]:
    """Command lines of the section "Script use", those of cron without their five fields of time."""
    blocks = re.findall(r"```sh\n(.*?)```", DEVELOPERS.split("## Script use")[1].split("\n## ")[0], re.DOTALL)
    lines = [line for block in blocks for line in block.splitlines()]
    return [re.sub(r"^[0-9*][0-9*/,-]*( +[0-9*][0-9*/,-]*){4} +", "", line) for line in lines]


@pytest.mark.parametrize("line", _list_script_lines())
def test_every_line_of_script_use_runs(line: str, demo_path: Path, tmp_path: Path) -> None:
    program = tmp_path / "bin" / "counterhand"
    program.parent.mkdir()
    program.write_text(f'#!/bin/sh\nexec {sys.executable} -c "from api.cli import main; main()" "$@"\n')
    program.chmod(0o755)
    database = tmp_path / "shop.db"
    shutil.copyfile(demo_path, database)
    environment = {**os.environ, "PATH": f"{program.parent}:{os.environ['PATH']}", "PYTHONPATH": str(ROOT)}
    result = subprocess.run(
        ["/bin/sh", "-c", line],
        env={**environment, DATABASE_VARIABLE: str(database)},
        cwd=tmp_path,
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )
    assert (result.returncode, result.stderr) == (0, "")
    written = [path for path in tmp_path.iterdir() if path.is_file() and not path.name.startswith("shop.db")]
    assert written
    assert all(path.stat().st_size > 0 for path in written)


def test_script_use_shows_every_answer_of_low_stock() -> None:
    assert len(_list_script_lines()) >= 6
    assert "ends with 0 when nothing is low, 10 when something is low" in DEVELOPERS


def test_every_room_of_the_code_stands_on_the_page() -> None:
    table = DEVELOPERS.split("## Rooms")[1].split("The arrow")[0]
    kept = [
        path for path in (ROOT / "kb").iterdir() if path.suffix == ".py" or (path / "__init__.py").exists()
    ]
    missing = [path.name for path in kept if path.name != "__init__.py" and f"kb/{path.name}" not in table]
    assert missing == []
