"""The Python door does what its docstring shows."""

from __future__ import annotations

import doctest
from pathlib import Path

import pytest

import orthostat

ROOT = Path(__file__).resolve().parents[2]


def test_the_docstring_of_the_package(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)
    result = doctest.testmod(orthostat)
    assert result.attempted >= 4
    assert result.failed == 0


def test_names_that_are_not_there_say_so() -> None:
    with pytest.raises(AttributeError, match="no attribute 'open_shops'"):
        _ = orthostat.open_shops
