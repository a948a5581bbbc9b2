"""The set-up in the order in which it can be done without harm (common practice)."""

from __future__ import annotations

from assistant.job.compiler import head_of, stages_of
from assistant.job.job_file import read_job
from tests.commands import ROOT

JOBS = sorted((ROOT / "config" / "jobs").glob("*.toml"))
TURNS = ("turning cutter", "light touch", "touch one side", "touch the")


def test_the_guard_comes_before_the_cutter_turns() -> None:
    """Touching off and trial marks are done with the cutter turning: whoever works through the
    list from top to bottom has seen to guard and eyes before the first of them."""
    with_touching = set[str]()
    for file in JOBS:
        job = read_job(file)
        for stage in stages_of(job, head_of(job)):
            items = stage.programme.checklist
            (guard,) = (n for n, item in enumerate(items) if item.startswith("Guard works"))
            turning = [n for n, item in enumerate(items) if any(word in item for word in TURNS)]
            assert all(guard < n for n in turning), items
            if turning:
                with_touching.add(file.stem)
    assert len(with_touching) > 10
