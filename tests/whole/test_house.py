"""Imports run strictly down, between folders as they are and inside them."""

from __future__ import annotations

import sys

import pytest

from tests.docs import house

PURE = {
    "__future__", "collections", "contextlib", "contextvars", "dataclasses", "enum", "fractions",
    "functools", "itertools", "math", "re", "statistics", "typing", "num2words", "solver",
}  # fmt: skip
"""What the engine may know of the world outside: nothing with a clock, a file or chance in it."""


@pytest.mark.parametrize("folder", house.folders())
def test_no_circle_in_any_folder(folder: str) -> None:
    """What lies in a folder can be put in an order in which imports run strictly down, those
    inside functions included."""
    assert house.circles(house.rooms(folder)) == []


@pytest.mark.parametrize("name", [name for name in house.modules() if name.startswith("solver")])
def test_the_solver_needs_the_standard_library_alone(name: str) -> None:
    """Exact arithmetic with no dependency, and no knowledge of the assistant."""
    for other in house.imported(house.modules()[name]):
        top = other.split(".")[0]
        assert top == "solver" or top in sys.stdlib_module_names, f"{name} imports {other}"


@pytest.mark.parametrize("name", [name for name in house.modules() if name.startswith("assistant")])
def test_the_assistant_uses_the_solver_by_its_public_names(name: str) -> None:
    """What the solver keeps to itself can change freely."""
    inner = {other for other in house.imports()[name] if other.startswith("solver.")}
    assert not inner, f"{name} imports {inner}"


def test_the_engine_sees_only_its_arguments() -> None:
    """No clock, no device, no file, no randomness in the engine and in all that it rests on."""
    for name in house.reached("assistant.engine"):
        if name.split(".")[0] == "assistant":
            outside = {other.split(".")[0] for other in house.imported(house.modules()[name])}
            assert outside - {"assistant"} <= PURE, f"{name}: {outside - PURE}"


@pytest.mark.parametrize("room", ["devices", "hearing.recognisers", "hearing.classifier", "page"])
def test_devices_know_what_happens_and_not_what_follows(room: str) -> None:
    """They reach neither the table, nor the journal, nor the reading of a job."""
    known = house.reached(f"assistant.{room}")
    assert "assistant.engine.events" in known or room.startswith("hearing")
    for name in ("engine.transitions", "engine.engine", "job.compiler"):
        assert f"assistant.{name}" in house.modules(), name
        assert f"assistant.{name}" not in known
    assert not any(name.startswith("assistant.journal") for name in known)


@pytest.mark.parametrize("name", house.modules())
def test_nothing_is_imported_from_the_tests(name: str) -> None:
    """The product stands without its tests."""
    for other in house.imported(house.modules()[name]):
        assert other.split(".")[0] != "tests", name
