"""A refusal has its cure beside it, so that nothing has to look for it in a sentence."""

from __future__ import annotations

import ast
from functools import cache

import pytest

from assistant.errors import Reason, Refusal
from tests.docs import house


def _name(node: ast.expr) -> str:
    return node.attr if isinstance(node, ast.Attribute) else getattr(node, "id", "")


@cache
def _tree(name: str) -> ast.Module:
    return ast.parse(house.modules()[name].read_text("utf-8"))


@cache
def _family() -> frozenset[str]:
    """`Refusal`, `Unusable` and what is made from them with nothing of its own, and `Reason`."""
    known = {"Refusal", "Unusable"}
    classes = [each for name in house.modules() for each in _tree(name).body]
    for node in classes:
        if isinstance(node, ast.ClassDef) and known & {_name(base) for base in node.bases}:
            own = any(isinstance(each, ast.FunctionDef) for each in node.body)
            known |= set() if own else {node.name}
    return frozenset(known | {"Reason"})


def _said(name: str) -> list[ast.Call]:
    """Where one is made from a sentence that stands there."""
    calls = [node for node in ast.walk(_tree(name)) if isinstance(node, ast.Call) and node.args]
    made = [call for call in calls if _name(call.func) in _family()]
    return [call for call in made if isinstance(call.args[0], ast.Constant | ast.JoinedStr)]


def _letters(node: ast.expr) -> str:
    return "".join(str(each.value) for each in ast.walk(node) if isinstance(each, ast.Constant))


@pytest.mark.parametrize("name", [name for name in house.modules() if name.startswith("assistant")])
def test_the_cure_stands_beside_what_is_wrong(name: str) -> None:
    """By itself, or "" where what is wrong says what would do; never after a semicolon within."""
    for call in _said(name):
        told = f"{name} line {call.lineno}"
        assert "; " not in _letters(call.args[0]), told
        assert len(call.args) > 1 or _name(call.func) == "Reason", told


def test_enough_of_them_are_looked_at() -> None:
    """The search finds what it is for."""
    assert sum(len(_said(name)) for name in house.modules()) > 120
    assert {"EarUnusable", "NoSoundError", "NoSuchDevice"} < _family()


def test_both_are_shown_in_one_line() -> None:
    """As it always was: after a colon, or after a semicolon."""
    assert str(Refusal("a.toml: no such file", "name one")) == "a.toml: no such file; name one"
    assert str(Refusal("a.toml: no text", "save it", ": ")) == "a.toml: no text: save it"
    assert str(Refusal("a.toml: no text", "")) == "a.toml: no text"
    why = Reason("another program holds it", "close it")
    assert (why, why.cure) == ("another program holds it; close it", "close it")
    assert not Reason("")
