"""Imports point one way, and the core sees only its arguments."""

from __future__ import annotations

import ast
import sys
from graphlib import TopologicalSorter
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
CORE = (
    "events", "language", "pace", "phases", "phrases", "programme", "short_words", "spoken",
    "state", "transitions", "wording", "engine", "work.measuring", "work.shapes", "work.units",
)  # fmt: skip
CORE_MAY = {
    "__future__", "collections", "contextlib", "contextvars", "dataclasses", "enum", "fractions",
    "functools", "itertools", "math", "re", "statistics", "typing", "num2words", "solver",
}  # fmt: skip
DEVICES_MAY = {
    "bench_page", "cli", "devices", "events", "hearing", "language", "phrases", "places", "ports",
    "settings", "toml_lines", "view",
}  # fmt: skip


def modules(package: str) -> dict[str, Path]:
    """Dotted name and file of every module of a package."""
    found = {}
    for file in (ROOT / package).rglob("*.py"):
        name = ".".join(file.relative_to(ROOT).with_suffix("").parts)
        found[name.removesuffix(".__init__")] = file
    return found


SOLVER, ASSISTANT = modules("solver"), modules("assistant")


def imported(file: Path, *, at_top_only: bool = False) -> set[str]:
    """Dotted names that the file imports, also inside functions."""
    tree = ast.parse(file.read_text("utf-8"))
    names: set[str] = set()
    for node in tree.body if at_top_only else ast.walk(tree):
        if isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{file}: relative import"
            base = node.module or ""
            names.add(base)
            names |= {f"{base}.{alias.name}" for alias in node.names}
    known = {**SOLVER, **ASSISTANT}
    return {
        name for name in names if name in known or name.split(".")[0] not in ("solver", "assistant")
    }


@pytest.mark.parametrize("name", SOLVER)
def test_the_solver_needs_the_standard_library_alone(name: str) -> None:
    """Exact arithmetic with no dependency, and no knowledge of the assistant."""
    for other in imported(SOLVER[name]):
        top = other.split(".")[0]
        assert top == "solver" or top in sys.stdlib_module_names, f"{name} imports {other}"


@pytest.mark.parametrize("name", ASSISTANT)
def test_the_assistant_uses_the_solver_by_its_public_names(name: str) -> None:
    """What the solver keeps to itself can change freely."""
    for other in imported(ASSISTANT[name]):
        assert not other.startswith("solver."), f"{name} imports {other}"


@pytest.mark.parametrize("name", CORE)
def test_the_core_sees_only_its_arguments(name: str) -> None:
    """No clock, no device, no file, no randomness in the engine and what it rests on."""
    for other in imported(ASSISTANT[f"assistant.{name}"]):
        parts = other.split(".")
        if parts[0] == "assistant":
            known = ".".join(parts[1:3] if parts[1:2] == ["work"] else parts[1:2])
            assert known in ("", "work", *CORE), f"{name} imports {other}"
        else:
            assert parts[0] in CORE_MAY, f"{name} imports {other}"


@pytest.mark.parametrize("name", [name for name in ASSISTANT if ".devices" in name])
def test_devices_know_ports_and_events_only(name: str) -> None:
    """A device knows nothing of the engine, the journal or the job."""
    for other in imported(ASSISTANT[name]):
        parts = other.split(".")
        if parts[0] == "assistant" and len(parts) > 1:
            assert parts[1] in DEVICES_MAY, f"{name} imports {other}"


def test_no_module_imports_itself_round_a_corner() -> None:
    """Imports at the top of files make no circle."""
    known = {**SOLVER, **ASSISTANT}
    graph = {
        name: {other for other in imported(file, at_top_only=True) if other in known} - {name}
        for name, file in known.items()
    }
    for package in ("solver", "assistant", "assistant.devices", "assistant.commands"):
        for followers in graph.values():
            followers.discard(package)
    assert list(TopologicalSorter(graph).static_order())


@pytest.mark.parametrize("package", ["solver", "assistant"])
def test_nothing_is_imported_from_the_tests(package: str) -> None:
    """The product stands without its tests."""
    for name, file in modules(package).items():
        assert not any(other.split(".")[0] == "tests" for other in imported(file)), name
