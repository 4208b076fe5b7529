"""Every example in the docstrings of the program says what the code does."""

import doctest
import importlib
import pkgutil
from collections.abc import Iterator

import pytest

import api
import importers
import kb


def _list_modules() -> Iterator[str]:
    for package in (kb, importers, api):
        for found in pkgutil.walk_packages(package.__path__, f"{package.__name__}."):
            if ".migrations" not in found.name:
                yield found.name


@pytest.mark.parametrize("name", sorted(_list_modules()))
def test_examples_hold(name: str) -> None:
    results = doctest.testmod(
        importlib.import_module(name), optionflags=doctest.NORMALIZE_WHITESPACE | doctest.ELLIPSIS
    )
    assert results.failed == 0
