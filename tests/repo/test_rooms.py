"""The shape of the code: folders say what is in them, pure rooms stay pure, sizes stay readable.

The arrow between the rooms is checked by import-linter; this checks what that tool cannot see.
"""

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

import kb

KB = Path(str(kb.__file__)).parent
ROOT = KB.parent
PURE = ("rules", "mechanics", "notation", "units.py", "terms.py", "errors.py")
IMPURE_MODULES = {
    "os",
    "pathlib",
    "time",
    "random",
    "socket",
    "subprocess",
    "io",
    "tempfile",
    "urllib",
    "secrets",
}
LONGEST_MODULE = 400
LONGEST_FUNCTION = 60


def _list_files(*places: Path) -> Iterator[Path]:
    for place in places:
        yield from [place] if place.is_file() else sorted(place.rglob("*.py"))


def _list_code() -> list[Path]:
    found = _list_files(ROOT / "api", ROOT / "importers", KB)
    return [path for path in found if "migrations" not in path.parts]


@pytest.mark.parametrize("path", list(_list_files(*(KB / name for name in PURE))), ids=lambda path: path.name)
def test_pure_rooms_touch_no_files_clock_or_environment(path: Path) -> None:
    tree = ast.parse(path.read_text())
    imported = {
        name.split(".")[0]
        for node in ast.walk(tree)
        if isinstance(node, ast.Import | ast.ImportFrom)
        for name in (
            [node.module or ""] if isinstance(node, ast.ImportFrom) else [a.name for a in node.names]
        )
    }
    called = {
        node.func.id
        for node in ast.walk(tree)
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name)
    }
    asked = {
        node.func.attr
        for node in ast.walk(tree)
        if isinstance(node, ast.Call)
        and isinstance(node.func, ast.Attribute)
        and node.func.attr in ("now", "today", "utcnow")
    }
    assert not imported & IMPURE_MODULES
    assert not called & {"open", "input", "print"}
    assert not asked


def test_every_package_says_what_is_in_it() -> None:
    for place in _list_files(ROOT / "api", ROOT / "importers", KB):
        if place.name == "__init__.py":
            tree = ast.parse(place.read_text())
            assert ast.get_docstring(tree), place
            if place.parent.name != "tables":
                assert len(tree.body) == 1, f"{place} holds code"


def test_modules_stay_short() -> None:
    long = [str(path) for path in _list_code() if len(path.read_text().splitlines()) > LONGEST_MODULE]
    assert long == []


def test_functions_stay_short() -> None:
    """Lines of code of a function without its docstring."""
    long = []
    for path in _list_code():
        for node in ast.walk(ast.parse(path.read_text())):
            if isinstance(node, ast.FunctionDef) and node.end_lineno:
                docstring = node.body[0] if ast.get_docstring(node) else None
                said = (docstring.end_lineno or 0) - docstring.lineno + 1 if docstring else 0
                if node.end_lineno - node.lineno + 1 - said > LONGEST_FUNCTION:
                    long.append(f"{path}:{node.lineno} {node.name}")
    assert long == []
