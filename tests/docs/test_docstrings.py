"""What is public says what it does: every module, and every class and function that others may use.

A method that overrides a documented one, of a base class or of a protocol that its class keeps to,
has its words from there.
"""

from __future__ import annotations

import ast
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
# Methods of the standard library's own classes, documented there.
LIBRARY = {"do_GET", "do_POST", "error", "emit", "run", "write", "read", "flush"}
Documented = ast.FunctionDef | ast.ClassDef
MOST_BARE = 0.02
"""Two branches that meet are no reason for a red run: a few that came with the other are let by."""


@cache
def trees() -> dict[Path, ast.Module]:
    files = [file for root in ("solver", "assistant") for file in (ROOT / root).rglob("*.py")]
    return {file: ast.parse(file.read_text("utf-8")) for file in sorted(files)}


@cache
def classes() -> dict[str, list[ast.ClassDef]]:
    found: dict[str, list[ast.ClassDef]] = {}
    for tree in trees().values():
        for node in ast.walk(tree):
            if isinstance(node, ast.ClassDef):
                found.setdefault(node.name, []).append(node)
    return found


def methods(of: ast.ClassDef) -> dict[str, ast.FunctionDef]:
    return {node.name: node for node in of.body if isinstance(node, ast.FunctionDef)}


def bases(of: ast.ClassDef) -> Iterator[ast.ClassDef]:
    """The classes of the house that it says it comes from, and the protocols it has all of."""
    for base in of.bases:
        for above in classes().get(ast.unparse(base).split("[")[0].split(".")[-1], []):
            yield above
            yield from bases(above)
    for known in classes().values():
        for each in known:
            protocol = any("Protocol" in ast.unparse(base) for base in each.bases)
            if protocol and each is not of and set(methods(each)) <= set(methods(of)):
                yield each


def told_above(of: ast.ClassDef | None, name: str) -> bool:
    if of is None:
        return False
    above = (methods(base).get(name) for base in bases(of))
    return name in LIBRARY or any(each and ast.get_docstring(each) for each in above)


def public(
    body: list[ast.stmt], of: ast.ClassDef | None = None
) -> Iterator[tuple[Documented, ast.ClassDef | None]]:
    for node in body:
        if not isinstance(node, Documented) or node.name.startswith("_"):
            continue
        yield node, of
        if isinstance(node, ast.ClassDef):
            yield from public(node.body, node)


def bare() -> tuple[list[str], int]:
    """What says nothing, by its place, and how many there are in all."""
    found, count = [], 0
    for file, tree in trees().items():
        for node, of in public(tree.body):
            count += 1
            if not ast.get_docstring(node) and not told_above(of, node.name):
                found.append(f"{file.relative_to(ROOT)}:{node.lineno} {node.name}")
    return found, count


def test_every_module_says_what_it_is_for() -> None:
    silent = [
        str(file.relative_to(ROOT))
        for file, tree in trees().items()
        if tree.body and not ast.get_docstring(tree)
    ]
    assert silent == []


def test_what_is_public_says_what_it_does() -> None:
    found, count = bare()
    assert count > 1000 and len(found) <= MOST_BARE * count, found


def raising(node: Documented) -> bool:
    """A function with an error of its own making; one that is only let through has no name."""
    return isinstance(node, ast.FunctionDef) and any(
        isinstance(each, ast.Raise) and each.exc is not None for each in ast.walk(node)
    )


def test_what_raises_says_so() -> None:
    """A caller reads in the first lines which errors he has to reckon with."""
    silent = [
        f"{file.relative_to(ROOT)}:{node.lineno} {node.name}"
        for file, tree in trees().items()
        for node, of in public(tree.body)
        if raising(node) and "aises" not in (ast.get_docstring(node) or "raises")
    ]
    assert silent == []


@pytest.mark.parametrize(
    ("text", "silent"),
    [
        ("def turn(): ...", ["turn"]),
        ('def turn():\n    """Turns."""', []),
        ("def _turn(): ...", []),
        ('class Crank:\n    """It turns."""\n    def turn(self): ...', ["turn"]),
        ('class _Crank:\n    """It turns."""\n    def turn(self): ...', []),
    ],
)
def test_what_says_nothing_is_found(text: str, silent: list[str]) -> None:
    nodes = public(ast.parse(text).body)
    assert [node.name for node, _ in nodes if not ast.get_docstring(node)] == silent
