"""The examples in docstrings of listing and read are true."""

import doctest
import importlib
from pathlib import Path

import pytest

import listkit

PACKAGE = Path(listkit.__file__).parent
MODULES = [
    ".".join(path.relative_to(PACKAGE.parent).with_suffix("").parts)
    for room in ("listing", "read")
    for path in sorted((PACKAGE / room).glob("*.py"))
    if ">>> " in path.read_text(encoding="utf-8")
]


@pytest.mark.parametrize("name", MODULES)
def test_the_examples_of_a_module_come_out_as_written(name: str) -> None:
    failed, tried = doctest.testmod(importlib.import_module(name))
    assert (failed, tried > 0) == (0, True)
