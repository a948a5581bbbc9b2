"""Imports run strictly down, between folders as they are and inside them."""

from __future__ import annotations

import ast
import sys
from collections import defaultdict
from collections.abc import Iterator

import pytest

from assistant.__main__ import COMMANDS
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


SUBCOMMANDS = {f"assistant.commands.{name}" for name in COMMANDS}
"""These bear the word that a person types, whatever else it means inside."""


def _twice(names: dict[str, list[str]]) -> dict[str, list[str]]:
    return {name: where for name, where in names.items() if len(where) > 1}


def test_no_two_modules_bear_one_name() -> None:
    """A name found in a message or a conversation leads to one file."""
    found: dict[str, list[str]] = defaultdict(list)
    for module, file in house.modules().items():
        if file.name not in ("__init__.py", "__main__.py") and module not in SUBCOMMANDS:
            found[file.stem].append(module)
    assert len(found) > 200
    assert _twice(found) == {}


def test_no_two_classes_bear_one_name() -> None:
    """Nor kinds of value under a name of their own: what is read is the same thing everywhere."""
    found: dict[str, list[str]] = defaultdict(list)
    for module, file in house.modules().items():
        for name in _kinds_of_value(ast.parse(file.read_text("utf-8"))):
            found[name].append(module)
    assert len(found) > 200
    assert _twice(found) == {}


def _kinds_of_value(tree: ast.Module) -> Iterator[str]:
    """The public classes at the top of a module, and the types that it gives a name."""
    for node in tree.body:
        if isinstance(node, ast.ClassDef):
            names = [node.name]
        elif isinstance(node, ast.Assign):
            names = [to.id for to in node.targets if isinstance(to, ast.Name)]
        else:
            continue
        yield from (name for name in names if name[0].isupper() and not name.isupper())
