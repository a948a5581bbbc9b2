"""The set-up in the order in which it can be done without harm (common practice)."""

from __future__ import annotations

from dataclasses import replace

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


def test_what_is_touched_is_held_first() -> None:
    """With the worm out of mesh only its pin holds a spindle, and only a tight vice holds a block:
    both come before the cutter is touched to the work, for the first part and for the next."""
    held = {"tap-square": "Vice tight.", "clamp-screw": "Vice tight.", "press-pins": "Pin in the"}
    for name, by in held.items():
        job = replace(read_job(ROOT / "config" / "jobs" / f"{name}.toml"), batch=2)
        (stage,) = stages_of(job, head_of(job))
        lists = [stage.programme.checklist_again]
        if by == "Vice tight.":
            lists.append(stage.programme.checklist)  # on a head the worm is in mesh at that time
        for items in lists:
            first = next(n for n, item in enumerate(items) if by in item)
            touch = next(n for n, item in enumerate(items) if "turning cutter" in item)
            assert first < touch, items


def test_the_next_bar_lies_against_the_stop_and_is_only_touched() -> None:
    """Its first place is where the first hole is: to bring the cutter there again by the crank
    would leave the pin in another hole."""
    for name, moved in [("sluice-rack", "Bring the cutter over"), ("cask-rule", "Turn the crank")]:
        job = replace(read_job(ROOT / "config" / "jobs" / f"{name}.toml"), batch=2)
        (stage,) = stages_of(job, head_of(job))
        again = " ".join(stage.programme.checklist_again)
        assert "against the same stop" in again and "Pin in the marked hole" in again
        assert moved not in again and "against a stop" in " ".join(stage.programme.checklist)
