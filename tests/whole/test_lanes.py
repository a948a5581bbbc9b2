"""The lanes of the test run: nothing falls between them, and live tests have their own workers."""

from __future__ import annotations

from collections import OrderedDict
from types import SimpleNamespace
from typing import Any

import pytest

from tests import beside, lanes
from tests.commands import ROOT

MARKS = ["release", "longer", "live", "slow", "sound", "apart"]


@pytest.mark.parametrize("file", ["engine/test_table.py", "page/test_server.py"])
@pytest.mark.parametrize("mark", [*MARKS, ""])
def test_no_test_falls_between_the_lanes(mark: str, file: str) -> None:
    """Whatever it is marked, it runs every day or before a release; the quick lane is a part."""
    marks = {mark} if mark else set()
    assert lanes.wanted("day", marks, file) or lanes.wanted("release", marks, file)
    assert lanes.wanted("quick", marks, file) <= lanes.wanted("day", marks, file)
    assert lanes.wanted("all", marks, file)


def test_the_quick_lane_is_made_of_what_is_there() -> None:
    """Each folder and file that it names; a name that leads nowhere would run nothing."""
    assert all((ROOT / "tests" / name).exists() for name in lanes.QUICK)


def test_what_goes_further_runs_in_both_lanes(monkeypatch: pytest.MonkeyPatch) -> None:
    """At its length of every day, and in full; a variable overrules both."""
    file = "work/test_scales.py"
    assert lanes.wanted("day", {"longer"}, file) and lanes.wanted("release", {"longer"}, file)
    for lane, wanted in (("day", 3), ("quick", 3), ("release", 50), ("all", 50)):
        monkeypatch.setenv(lanes.NAME, lane)
        assert lanes.length(3, 50, "TALLYHAND_TEST_SUCH") == wanted
    monkeypatch.setenv("TALLYHAND_TEST_SUCH", "7")
    assert lanes.length(3, 50, "TALLYHAND_TEST_SUCH") == 7


def test_a_sample_has_some_of_each_sort_and_leaves_the_rest_to_the_release() -> None:
    """One in three, at least one, of each first letter; whatever the order they come in."""
    cases = ["a1", "a2", "a3", "a4", "b1"]
    made = lanes.drawn(cases, 3, sort=lambda case: case[0])
    daily = [each.id for each in made if not each.marks]
    assert [each.values for each in made] == [(case,) for case in cases]
    assert [case[0] for case in daily] == ["a", "a", "b"]
    again = lanes.drawn(cases[::-1], 3, sort=lambda case: case[0])
    assert [each.id for each in again if not each.marks] == daily


def test_every_name_is_of_one_share() -> None:
    """Ten names and three shares: each share has some, and the same ones each time."""
    names = [f"name {n}" for n in range(10)]
    shares = [lanes.of_share(name, 3) for name in names]
    assert set(shares) == {0, 1, 2}
    assert shares == [lanes.of_share(name, 3) for name in names]


class Worker:
    """One that is told what to run."""

    def __init__(self, name: str) -> None:
        self.gateway = SimpleNamespace(id=name)
        self.sent: list[int] = []

    def send_runtest_some(self, indices: list[int]) -> None:
        self.sent += indices


def scheduler(*scopes: str) -> Any:
    """One that has these groups left to give, and nothing of pytest's own."""
    made = beside.Beside.__new__(beside.Beside)
    made.workqueue = OrderedDict((scope, {f"{scope}::test": False}) for scope in scopes)
    made.assigned_work, made.registered_collections = {}, {}
    return made


def given(made: Any, name: str) -> str:
    """The group that this worker gets next."""
    worker = Worker(name)
    made.registered_collections[worker] = [
        test for group in made.workqueue.values() for test in group
    ]
    made._assign_work_unit(worker)
    assert worker.sent
    (scope,) = made.assigned_work[worker]
    return str(scope)


def test_live_groups_go_to_live_workers() -> None:
    """In order, each sort to its own workers; when one sort is done its workers help the other."""
    live = f"gw{beside.LIVE_WORKERS - 1}"
    other = f"gw{beside.LIVE_WORKERS}"
    made = scheduler("a", f"{beside.LIVE}b", "c", f"{beside.LIVE}d", "e")
    assert [given(made, live), given(made, live)] == [f"{beside.LIVE}b", f"{beside.LIVE}d"]
    assert [given(made, other), given(made, live), given(made, other)] == ["a", "c", "e"]
