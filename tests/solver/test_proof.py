"""The proof stands alone and lets nothing wrong pass."""

from __future__ import annotations

import ast
from fractions import Fraction
from pathlib import Path

import pytest

from solver import Disproved, Gearing, Head, Move, Setup, plan, positions, proof
from solver.request import divisions_request
from tests.solver.heads import geared, head, pinned, shipped

SOLVER = Path(proof.__file__).parent


def imports(path: Path) -> set[str]:
    """The modules that a file imports anywhere in it."""
    found = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            found.add(node.module or "")
    return found


def test_the_proof_shares_no_code_with_the_search() -> None:
    """Of the solver it imports the plain data alone, and that imports nothing of the solver."""
    ours = {name for name in imports(SOLVER / "proof.py") if name.startswith("solver")}
    assert ours == {"solver.model"}
    assert not [name for name in imports(SOLVER / "model.py") if name.startswith("solver")]


def test_the_solver_needs_the_standard_library_alone() -> None:
    """Every import of every file of the solver is the standard library's or the solver's own."""
    import sys

    for path in SOLVER.glob("*.py"):
        tops = {name.split(".")[0] for name in imports(path)}
        assert tops <= {*sys.stdlib_module_names, "solver"}, path.name


MOVE = Move(1, 19, 21, times=21)
GOOD = Setup("plain", "plate 2", 21, 19, 1, Fraction(0), (), None, (MOVE,))


def test_a_right_set_up_passes() -> None:
    """The proof agrees with a set-up that is right."""
    proof.prove(head(), GOOD, divisions_request(21).targets(), 21)


@pytest.mark.parametrize(
    "wrong",
    [
        GOOD._replace(moves=(MOVE._replace(holes=18),)),
        GOOD._replace(moves=(MOVE._replace(turns=2),)),
        GOOD._replace(moves=(MOVE._replace(times=20),)),
        GOOD._replace(moves=(MOVE._replace(times=22),)),
        GOOD._replace(moves=(MOVE._replace(circle=22),)),
        GOOD._replace(moves=(MOVE._replace(holes=21, turns=0),)),
        GOOD._replace(moves=(MOVE._replace(turns=-1),)),
        GOOD._replace(moves=(MOVE._replace(plate_holes=1, plate_circle=23),)),
        GOOD._replace(moves=(MOVE._replace(plate_holes=1),)),
        GOOD._replace(moves=(MOVE._replace(direct_holes=1, direct_circle=24),)),
        GOOD._replace(moves=(MOVE._replace(minutes=Fraction(3)),)),
        GOOD._replace(plate="plate 3"),
        GOOD._replace(worst_error=Fraction(1, 1_000_000)),
        GOOD._replace(every=2),
        GOOD._replace(gearing=Gearing((24,), (48,), 1, "with")),
    ],
)
def test_anything_wrong_is_disproved(wrong: Setup) -> None:
    """A wrong count, circle, plate, claim, spacing or part is caught, one by one."""
    for divisions in (21, None):
        with pytest.raises(Disproved):
            proof.prove(head(), wrong, divisions_request(21).targets(wrong.every), divisions)


TWO = Setup(
    "compound", "plate 3", 39, 6, 1, Fraction(0), (), None, (Move(0, 6, 39, 14, 49, times=91),)
)
DIAL = Setup(
    "plain", None, None, None, 1, Fraction(0), (), None, (Move(6, minutes=Fraction(240), times=9),)
)


@pytest.mark.parametrize(
    ("maker", "good", "wrong"),
    [
        (pinned(), TWO, {"plate_holes": 63}),
        (pinned(), TWO, {"plate_holes": -63, "turns": 1}),
        (pinned(), TWO, {"plate_circle": 23}),
        (pinned(), TWO, {"circle": 23}),
        (head(), TWO, {}),
        (shipped("rotary-60-handwheel"), DIAL, {"minutes": Fraction(481, 2)}),
        (shipped("rotary-60-handwheel"), DIAL, {"minutes": Fraction(-120), "turns": 7}),
        (shipped("rotary-60-handwheel"), DIAL, {"turns": -1, "minutes": Fraction(2760)}),
        (shipped("three-plate-40"), DIAL, {}),
    ],
)
def test_moves_that_a_head_cannot_make(maker: Head, good: Setup, wrong: dict[str, object]) -> None:
    """Holes past the circle, another plate's circle, dial steps that are not there: caught."""
    at_home = pinned() if good is TWO else shipped("rotary-60-handwheel")
    proof.check_parts(at_home, good)
    with pytest.raises(Disproved):
        proof.check_parts(maker, good._replace(moves=(good.moves[0]._replace(**wrong),)))


def test_plan_proves_what_it_hands_out(monkeypatch: pytest.MonkeyPatch) -> None:
    """A search that goes wrong is caught before anybody sees its set-up."""
    from solver import plain

    wrong = (Move(1, 18, 21, times=21),)
    monkeypatch.setattr(plain, "_crank_moves", lambda *_: lambda: wrong)
    with pytest.raises(Disproved):
        plan(head(), divisions=21)


GEARS = Gearing((56,), (24,), 2, "against")
TRAIN = Setup(
    "differential", "plate 3", 39, 13, 1, Fraction(0), (), GEARS, (Move(0, 13, 39, times=127),)
)


def test_a_right_train_passes() -> None:
    """127 divisions by period handbooks (13 on 39, 56 and 24, against, two idlers)."""
    proof.prove(geared(), TRAIN, (), 127)


@pytest.mark.parametrize(
    "gears",
    [
        GEARS._replace(plate="with", idlers=1),
        GEARS._replace(plate="with"),
        GEARS._replace(idlers=1),
        GEARS._replace(drivers=(24,), driven=(56,)),
        GEARS._replace(drivers=(57,)),
        GEARS._replace(drivers=(56, 28), driven=(24, 28), idlers=1),
        GEARS._replace(idlers=12),
    ],
)
def test_a_wrong_train_is_disproved(gears: Gearing) -> None:
    """A direction, an idler, a ratio or a gear that is not held (or used twice) is caught."""
    with pytest.raises(Disproved):
        proof.prove(geared(), TRAIN._replace(gearing=gears), (), 127)


def test_gears_need_a_head_that_takes_them() -> None:
    """A train on a head without gears, and a back pin in a driven plate, are caught."""
    with pytest.raises(Disproved):
        proof.prove(pinned(), TRAIN, (), 127)
    both = TRAIN._replace(moves=(TRAIN.moves[0]._replace(plate_holes=1, plate_circle=49),))
    with pytest.raises(Disproved):
        proof.check_parts(geared(), both)


@pytest.mark.parametrize("name", ["three-plate-40", "two-sided-40", "rotary-60-handwheel"])
@pytest.mark.parametrize("divisions", [21, 51, 127, 999])
def test_the_short_walk_equals_the_long_one(name: str, divisions: int) -> None:
    """Runs of equal moves judged by their ends give the same worst error as every position."""
    maker = shipped(name)
    for setup in plan(maker, divisions=divisions):
        long = proof.worst_error(maker, setup, divisions_request(divisions).targets(setup.every))
        assert long == proof.worst_error_of_divisions(maker, setup, divisions)


def test_a_whole_turn_closes() -> None:
    """Exact moves end at the first hole: crank turns in all are the worm ratio."""
    maker = shipped("three-plate-40")
    setup = plan(maker, divisions=9)[0]
    assert list(positions(maker, setup))[-1] == 1
    crank = sum(
        move.times * (move.turns + Fraction(move.holes, move.circle or 1)) for move in setup.moves
    )
    assert crank == maker.worm_ratio
