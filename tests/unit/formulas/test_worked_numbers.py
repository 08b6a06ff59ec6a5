"""The worked number in the docstring of every formula comes out."""

import doctest
import importlib
import pkgutil

import pytest

import orthostat.formulas

MODULES = [found.name for found in pkgutil.walk_packages(orthostat.formulas.__path__, "orthostat.formulas.")]


@pytest.mark.parametrize("module", MODULES)
def test_worked_numbers_come_out(module: str) -> None:
    result = doctest.testmod(importlib.import_module(module), optionflags=doctest.NORMALIZE_WHITESPACE)
    assert result.failed == 0
