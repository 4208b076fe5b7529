"""The command line as a process of its own, over a database of the test's own."""

import os
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[3]
PROGRAM = (sys.executable, "-c", "from api.cli import main; main()")

Run = Callable[..., subprocess.CompletedProcess[str]]
Start = Callable[..., subprocess.Popen[str]]


def build_environment(folder: Path) -> dict[str, str]:
    home = {"HOME": str(folder), "XDG_DATA_HOME": str(folder / "data"), "PYTHONPATH": str(ROOT)}
    kept = {name: value for name, value in os.environ.items() if not name.startswith("COUNTERHAND_")}
    return {**kept, **home, "PYTHONUNBUFFERED": "1"}


@pytest.fixture
def run(tmp_path: Path) -> Run:
    """Function that runs the program to its end: ``run("check", "--db", path)``."""

    def run_program(*arguments: object, **named: object) -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            [*PROGRAM, *map(str, arguments)],
            env=build_environment(tmp_path),
            cwd=tmp_path,
            capture_output=True,
            text=True,
            timeout=60,
            check=False,
            **named,
        )

    return run_program


@pytest.fixture
def start(tmp_path: Path) -> Iterator[Start]:
    """Function that starts the program; what still runs when the test ends is ended."""
    started: list[subprocess.Popen[str]] = []

    def start_program(*arguments: object) -> subprocess.Popen[str]:
        process = subprocess.Popen(
            [*PROGRAM, *map(str, arguments)],
            env=build_environment(tmp_path),
            cwd=tmp_path,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
        )
        started.append(process)
        return process

    yield start_program
    for process in started:
        process.kill()
        process.wait(10)
        assert process.stdout is not None
        process.stdout.close()


@pytest.fixture
def shop(demo_path: Path, tmp_path: Path) -> Path:
    """A file with the demo catalogue, for this test to write to."""
    path = tmp_path / "shop.db"
    path.write_bytes(demo_path.read_bytes())
    return path
