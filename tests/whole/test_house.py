"""Imports run strictly down, between folders as they are and inside them."""

from __future__ import annotations

import ast
import sys
from collections import defaultdict
from collections.abc import Iterator
from pathlib import Path

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


OF_ONE_ROLE = {
    "assistant.job.kinds": {
        "read": "each kind's reader, which its `KIND` names",
        "cut_shape": "what the cutter takes for the first space, of each kind's own part",
        "depth": "of the cut, by each kind's own drawing",
        "outside": "the blank's diameter, by each kind's own formula",
        "pitch_diameter": "by each kind's own formula",
        "widest_cutter": "that clears the next tooth of each kind's own part",
    },
    "assistant.drawing": {
        "base": "what stays from cut to cut; the page draws with one of these files or another",
        "overlay": "what changes from cut to cut, over the base of the same file",
        "caption": "of the drawing of the same file",
    },
}
"""Functions that are the same thing of several files of one folder, each with the reason."""


def _functions(file: Path) -> Iterator[str]:
    text = file.read_text("utf-8")
    run = file.parent.name == "commands" or '__name__ == "__main__"' in text
    for node in ast.parse(text).body:
        if isinstance(node, ast.FunctionDef) and not (run and node.name == "main"):
            yield node.name


def test_no_two_public_functions_bear_one_name() -> None:
    """Nor functions at the top of a module. `main` is what a subcommand, or `python -m`, runs."""
    found: dict[str, list[str]] = defaultdict(list)
    for module, file in house.modules().items():
        for name in _functions(file):
            if not name.startswith("_"):
                found[name].append(module)
    assert len(found) > 1000
    roles = {
        name: [module.rpartition(".")[0] for module in where if _in_a_role(name, module)]
        for name, where in found.items()
    }
    for folder, names in OF_ONE_ROLE.items():
        assert all(roles[name].count(folder) > 1 for name in names), f"{folder}: not a role"
    others = {
        name: [module for module in where if not _in_a_role(name, module)] + roles[name][:1]
        for name, where in found.items()
    }
    assert _twice(others) == {}


def _in_a_role(name: str, module: str) -> bool:
    return name in OF_ONE_ROLE.get(module.rpartition(".")[0], {})
