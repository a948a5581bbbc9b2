"""The rehearsal's JSON lines, judged as a stranger would judge them: from the lines alone."""

from __future__ import annotations

import json
import random
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from assistant.engine.phrases import PHRASES
from tests.commands import COUNT_WHEEL, JOBS, PINION, tallyhand
from tests.lanes import drawn

PHASES = {
    "set-up", "release", "index", "lock", "guard", "cut", "measure", "closing-check",
    "finished", "paused", "check-position",
}  # fmt: skip
PRESS: dict[str, Any] = {"press": "main"}


def rehearse(job: Path, script: list[dict[str, Any]], *more: str) -> list[dict[str, Any]]:
    given = "".join(json.dumps(step) + "\n" for step in script)
    finished = tallyhand("rehearse", job, "--script", "-", "--json", *more, given=given)
    assert finished.returncode == 0, finished.stderr
    assert finished.stderr == ""
    return [json.loads(line) for line in finished.stdout.splitlines()]


def turned(move: dict[str, Any], worm_ratio: int) -> Fraction:
    """What a move does to the spindle, by the published rule: (turns + holes/circle) / ratio."""
    if "direct_holes" in move:
        return Fraction(move["direct_holes"], move["direct_circle"])
    crank = Fraction(move["turns"])
    crank += Fraction(move["holes"], move["circle"]) if move["holes"] else 0
    return crank / worm_ratio


def judge(lines: list[dict[str, Any]], divisions: int) -> dict[str, Any]:
    """Every rule that must hold in every run. Returns the last state."""
    state: dict[str, Any] = {}
    spindle = Fraction(0)
    for line, after in zip(lines, [*lines[1:], {}], strict=True):
        if "move" in line:
            # In few words the call itself asks for the lock first; it is then taken for off.
            first = state["phase"] == "cut" and after["said"].startswith("Lock off. ")
            assert state["phase"] == "release" or first, "a move is called only after the lock"
            moved = turned(line["move"], 40)
            assert moved == Fraction(1, divisions)
        if "state" not in line:
            continue
        new = line["state"]
        assert new["phase"] in PHASES
        assert new["of"] == divisions and 1 <= new["cut"] <= divisions
        if new["phase"] in ("index", "lock", "paused", "check-position"):
            assert not new["locked"]
        if new["phase"] == "cut":
            assert new["locked"] and new["guarded"]
            assert state["phase"] in ("guard", "cut")
        more = new["done"] - state.get("done", 0)
        assert more in (0, 1) or (more == -1 and new["phase"] in ("lock", "check-position"))
        if more > 0:
            assert state["phase"] == "cut" and new["phase"] in ("release", "lock")
            assert not (new["phase"] == "lock" and new["locked"])
        assert 0 <= Fraction(new["spindle"]) < 1
        if new["phase"] in ("lock", "guard", "cut"):
            spindle = Fraction(new["cut"] - 1, divisions)
            assert Fraction(new["spindle"]) == spindle
        state = new
    return state


def test_nine_cuts_by_the_pedal() -> None:
    """Set-up, nine times release, index, lock, guard, cut, the closing check, finished."""
    lines = rehearse(COUNT_WHEEL, [PRESS] * 60)
    last = judge(lines, 9)
    assert last["phase"] == "finished" and last["done"] == 9
    moves = [line for line in lines if "move" in line]
    assert [move["cut"] for move in moves] == [2, 3, 4, 5, 6, 7, 8, 9, 9]
    assert sum(turned(move["move"], 40) for move in moves) == 1
    said = {(line["said"], line["for"]) for line in lines if "said" in line}
    assert ("Four turns, then twelve holes on the twenty-seven circle.", "index") in said


def test_a_pinion_by_voice_alone() -> None:
    """Every confirmation spoken; the phrase of another phase is refused and changes nothing."""
    set_up = [{"say": "set and checked"}] * 9
    at_the_hole = [{"say": "spindle locked"}, {"say": "guard closed"}, {"say": "cut done"}]
    move = [{"say": "lock is off"}, {"say": "pin is home"}]
    script = [*set_up, *(at_the_hole + move) * 21, {"say": "back at the start"}]
    lines = rehearse(PINION, script)
    assert judge(lines, 21)["phase"] == "finished"
    assert not any("refused" in line for line in lines)
    mixed_up = rehearse(PINION, [*set_up, {"say": "guard closed"}, {"say": "cut done"}])
    assert judge(mixed_up, 21)["phase"] == "lock"
    assert len([line for line in mixed_up if "refused" in line]) == 2


def test_a_low_score_never_confirms() -> None:
    """A phrase heard at 0.4 is refused, with the short tone for it."""
    to_lock = [PRESS] * 9
    lines = rehearse(COUNT_WHEEL, [*to_lock, {"say": "spindle locked", "confidence": 0.4}])
    assert judge(lines, 9)["phase"] == "lock"
    assert {"signal": "refused"} in lines[-4:]


@pytest.mark.parametrize("presses", drawn(range(0, 60, 4), 2))
def test_a_restart_lands_where_it_must(presses: int) -> None:
    """Whatever came before: check-position, or set-up, or finished; nothing done is lost."""
    before = rehearse(COUNT_WHEEL, [PRESS] * presses)
    after = rehearse(COUNT_WHEEL, [*[PRESS] * presses, {"restart": True}])
    was, now = judge(before, 9), judge(after, 9)
    expected = was["phase"] if was["phase"] in ("set-up", "finished") else "check-position"
    assert now["phase"] == expected
    assert now["done"] == was["done"]


STEPS: list[dict[str, Any]] = [
    *[PRESS] * 30,
    *[{"say": phrase} for several in PHRASES.values() for phrase in several],
    *[{"say": phrase, "confidence": 0.5} for several in PHRASES.values() for phrase in several],
    {"presses": 2},
    {"presses": 3},
    {"press": "main", "held_ms": 1200},
    {"press": "main", "held_ms": 5},
    {"wait_ms": 500},
    {"say": "hand me that file would you"},
    {"note": "burr"},
    {"lost": "pedal"},
    {"returned": "pedal"},
    {"restart": True},
]


@pytest.mark.parametrize("seed", drawn(range(25), 3))
def test_any_script_keeps_the_rules(seed: int) -> None:
    """Random scripts with restarts: no cut without lock and guard, none lost, none doubled."""
    chance = random.Random(seed)
    lines = rehearse(COUNT_WHEEL, [*[PRESS] * 8, *chance.choices(STEPS, k=250)])
    judge(lines, 9)


def test_a_rehearsal_leaves_nothing_behind_unless_a_folder_is_named(tmp_path: Path) -> None:
    """With a folder named the journal is kept there, and `log` shows it."""
    rehearse(COUNT_WHEEL, [PRESS] * 60, "--data", str(tmp_path))
    log = json.loads(tallyhand("log", "--json", "--data", tmp_path).stdout)["jobs"]
    assert [job["finished"] for job in log] == [True]
    assert log[0]["title"] == "Count wheel of the cider mill"
    plain = tallyhand("log", "--data", tmp_path).stdout
    assert "9 of 9 cuts, finished" in plain
    home = tmp_path / "home"
    home.mkdir()
    given = json.dumps(PRESS) + "\n"
    env = {"HOME": str(home), "XDG_DATA_HOME": str(home), "TMPDIR": str(home)}
    assert tallyhand("rehearse", COUNT_WHEEL, given=given, env=env).returncode == 0
    assert list(home.iterdir()) == []


@pytest.mark.parametrize("size", ["33.02", "33,02"])
def test_a_size_is_typed_with_a_point_or_a_comma(size: str) -> None:
    """As on the terminal and the page."""
    cut = [PRESS] * 40
    lines = rehearse(JOBS / "mill-keyways.toml", cut)
    before = next(n for n, each in enumerate(states(lines)) if each["phase"] == "measure")
    lines = rehearse(JOBS / "mill-keyways.toml", [*cut[:before], {"size": size}])
    assert "Thirty-three point zero two millimetres." in lines[-2]["said"]


def states(lines: list[dict[str, Any]]) -> list[dict[str, Any]]:
    return [line["state"] for line in lines if "state" in line]
