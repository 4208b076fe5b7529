"""What is shipped: generic package names stay honest, no machine's or registry's address gets in."""

from importlib import metadata
from pathlib import Path

import pytest

import api
import importers
import kb

ROOT = Path(__file__).parents[2]


def test_constraints_hold_no_registry_address() -> None:
    assert "://" not in (ROOT / "constraints.txt").read_text()


def test_constraints_pin_every_run_time_package() -> None:
    pinned = {
        line.split("==")[0].lower()
        for line in (ROOT / "constraints.txt").read_text().splitlines()
        if "==" in line
    }
    wanted = {
        "alembic",
        "click",
        "fastapi",
        "jinja2",
        "openpyxl",
        "rapidfuzz",
        "sqlmodel",
        "uvicorn",
        "python-calamine",
    }
    assert wanted <= pinned


def test_packages_come_from_one_folder() -> None:
    folders = {Path(str(package.__file__)).parents[1] for package in (api, importers, kb)}
    assert len(folders) == 1


def test_one_console_command_of_the_distribution_s_name() -> None:
    try:
        found = metadata.entry_points(group="console_scripts", name="counterhand")
    except metadata.PackageNotFoundError:  # pragma: no cover
        pytest.skip("not installed")
    if not found:
        pytest.skip("run from a checkout, not installed")
    assert [item.value for item in found] == ["api.cli:main"]


def test_no_module_runs_as_api() -> None:
    assert not (Path(str(api.__file__)).parent / "__main__.py").exists()
