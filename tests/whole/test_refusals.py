"""A refusal has its cure beside it, so that nothing has to look for it in a sentence."""

from __future__ import annotations

import ast
from functools import cache
from pathlib import Path

import pytest

from assistant.errors import Reason, Refusal, passed_on
from assistant.files.settings import read_settings
from solver import Refused, load_head, plan
from solver.request import MOST
from tests.commands import ROOT
from tests.docs import house

HEAD = ROOT / "config" / "heads" / "three-plate-40.toml"


def _name(node: ast.expr) -> str:
    return node.attr if isinstance(node, ast.Attribute) else getattr(node, "id", "")


@cache
def _tree(name: str) -> ast.Module:
    return ast.parse(house.modules()[name].read_text("utf-8"))


@cache
def _family() -> frozenset[str]:
    """`Refusal`, `Unusable`, `Refused`, what is made from them with nothing else, `Reason`."""
    known = {"Refusal", "Unusable", "Refused"}
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


@pytest.mark.parametrize("name", list(house.modules()))
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


def test_what_the_solver_refuses_is_passed_on_with_its_cure() -> None:
    """What and cure apart, with the place before; shown as the solver shows it."""
    with pytest.raises(Refused) as caught:
        plan(load_head(HEAD), divisions=0)
    fault = caught.value
    assert (fault.what, fault.cure) == ("divisions 0", f"give a whole number from 2 to {MOST}")
    passed = passed_on(fault, "a.toml")
    assert (passed.what, passed.cure) == ("a.toml: divisions 0", fault.cure)
    assert str(passed) == f"a.toml: {fault}"
    assert str(passed_on(fault)) == str(fault)


@pytest.mark.parametrize(
    ("text", "cure"),
    [
        ("[pace]\nwords = 3", "write text in quotes"),
        ("[pace]\nwords = 'none'", "one of few, whole"),
        ("[pace]\nwhole_cuts = 0", "from 1 to 100"),
        ("[pace]\nword = 'few'", "did you mean 'words'?"),
        ("pace = 3", "write it as a table, [pace]"),
        ("[xyz]", "known here: "),
        ("drawer = 3", "write it as a table, [drawer]"),
    ],
)
def test_a_fault_of_the_settings_has_its_cure_beside_it(
    text: str, cure: str, tmp_path: Path
) -> None:
    """In a field of its own, for every check of the file."""
    file = tmp_path / "s.toml"
    file.write_text(text, "utf-8")
    with pytest.raises(Refusal) as caught:
        read_settings(file)
    assert caught.value.cure.startswith(cure)
    assert str(caught.value).endswith(caught.value.cure) and cure not in caught.value.what
