"""The page on the solver's API is true: its examples run, and it names every public name."""

from __future__ import annotations

import doctest
from pathlib import Path

import pytest

import solver

ROOT = Path(__file__).resolve().parents[2]
PAGE = ROOT / "docs" / "solver.md"


def test_examples_on_the_page(monkeypatch: pytest.MonkeyPatch) -> None:
    """Every example of docs/solver.md gives exactly what the page shows."""
    monkeypatch.chdir(ROOT)
    failed, tried = doctest.testfile(str(PAGE), module_relative=False)
    assert failed == 0
    assert tried >= 25


def test_public_names_are_there_and_documented() -> None:
    """Each name in `solver.__all__` can be had, and says in its docstring what it is."""
    for name in solver.__all__:
        assert getattr(solver, name).__doc__
    with pytest.raises(AttributeError):
        solver.no_such_name  # noqa: B018
