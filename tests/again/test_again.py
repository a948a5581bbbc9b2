"""The same job next year: as it was finally done, with what the session of then had to say."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from assistant.bench.again import programme_again
from assistant.engine.recall import falls_due, moment_of
from assistant.engine.state import State
from assistant.job.programme import Programme, Recall
from assistant.journal.writing import Journal, journals, read_journal
from tests.commands import JOBS, one_line, tallyhand
from tests.engine.jobs import programme
from tests.journal.old import write_version_1
from tests.journal.played import JOB, played

PRESS: dict[str, Any] = {"press": "main"}
NOTE = "cutter pulled, take the last two tenths in two passes"
HEXAGON = (JOBS / "hexagon-plug.toml").read_text("utf-8").replace("passes = 2", "passes = 1")
HEXAGON = HEXAGON.replace('finish = "0.25 mm"\n', "")


def rehearsed(
    folder: Path, lines: list[dict[str, Any]], *words: str | Path
) -> list[dict[str, Any]]:
    given = "".join(json.dumps(line) + "\n" for line in lines)
    done = tallyhand("rehearse", *words, "--data", folder, "--json", given=given)
    assert done.returncode == 0, done.stderr
    return [json.loads(line) for line in done.stdout.splitlines()]


def cut(*between: dict[str, Any]) -> list[dict[str, Any]]:
    """From the lock to the cut, a minute long; `between` comes before the guard is confirmed."""
    return [PRESS, *between, PRESS, {"wait_ms": 60_000}, PRESS]


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A hexagon of 24 mm from a 30 mm bar, finished: a note at the guard of cut three, and over
    flats one and four a size 0.1 mm too large, so that cut four is made again, 0.05 mm deeper."""
    folder = tmp_path_factory.mktemp("again")
    (folder / "hexagon.toml").write_text(HEXAGON, "utf-8")
    items = len(json.loads(tallyhand("job", "check", folder / "hexagon.toml", "--json").stdout)[
        "checklist"])  # fmt: skip
    lines = [PRESS] * items + cut()
    for n in range(2, 7):
        lines += [PRESS, PRESS, *cut(*([{"note": f"{NOTE}."}] if n == 3 else []))]
        lines += [{"size": "24.1"}, PRESS, PRESS, PRESS] if n == 4 else []
    lines += [PRESS] * 60  # the cuts before it come again, deeper
    told = rehearsed(folder / "data", lines, folder / "hexagon.toml")
    assert told[-1]["state"]["phase"] == "finished"
    return folder


def test_the_note_comes_where_it_was_made(folder: Path) -> None:
    """Before the very question at which it was written, once, and nowhere else."""
    lines = [PRESS] * 60
    told = rehearsed(folder / "copy", lines, folder / "hexagon.toml")
    assert not any(line.get("for") == "recall" for line in told)
    (folder / "copy" / journals(folder / "data")[0].name).write_bytes(
        journals(folder / "data")[0].read_bytes()
    )
    told = rehearsed(folder / "data", lines, "--again", "hexagon")
    said = [line for line in told if "said" in line or "state" in line]
    at = [n for n, line in enumerate(said) if NOTE in line.get("said", "")]
    assert len(at) == 1
    assert said[at[0]]["said"] == f"Last time, here: {NOTE}."
    assert said[at[0] + 1]["for"] == "guard"
    state = next(line["state"] for line in said[at[0] :] if "state" in line)
    assert (state["phase"], state["cut"]) == ("guard", 3)


def test_the_moves_are_those_that_were_made(folder: Path) -> None:
    """Plate, order and every move as they stand in the journal of then."""
    first, last = (read_journal(path).programme for path in (journals(folder / "data")[0],
                                                     journals(folder / "data")[-1]))  # fmt: skip
    assert last.recalls and not first.recalls
    assert (last.moves, last.positions, last.plate) == (first.moves, first.positions, first.plate)
    assert last.labels == first.labels


def test_the_depth_is_the_one_that_came_to_size(folder: Path) -> None:
    """24.1 over opposite flats for 24: 0.05 a side; the called depth is 3.05, and that is said."""
    anew = programme_again(read_journal(journals(folder / "data")[0]))
    assert [float(depth) for depth in anew.depths_mm] == [3.05]
    assert any("three point zero five millimetres" in item for item in anew.checklist)
    texts = [recall.text for recall in anew.recalls]
    assert (
        "the depth came to size at three point zero five millimetres, not at three millimetres"
        in texts
    )
    assert anew.measurements == read_journal(journals(folder / "data")[0]).programme.measurements


def test_the_times_of_last_time_stand_beside(folder: Path) -> None:
    """A cut took its minute and the presses between; the first question how long answers by it."""
    anew = programme_again(read_journal(journals(folder / "data")[0]))
    assert len(anew.last_seconds) == 6
    assert all(60 <= seconds < 80 for seconds in anew.last_seconds)
    items = len(anew.checklist)
    asked = [*[PRESS] * items, {"say": "how many left"}]
    told = rehearsed(folder / "data", asked, "--again", journals(folder / "data")[0].stem)
    assert any("minutes, by last time." in line.get("said", "") for line in told)


def test_from_a_journal_of_an_earlier_form(tmp_path: Path) -> None:
    """Version 1 of the journal holds notes and moves too; the old file is left as it was."""
    old = tmp_path / "20260501T100000-1-count-wheel-aaaa.journal"
    write_version_1(old, JOB, played(6), in_log=False)
    before = old.read_bytes()
    anew = programme_again(read_journal(old))
    assert anew.moves == read_journal(old).programme.moves
    assert [recall.text for recall in anew.recalls] == ["burr on notch three ⚙"]
    assert old.read_bytes() == before


def test_in_the_short_cycle_nothing_is_passed_over() -> None:
    """Where the step of the note is not asked, it comes with the one that follows."""
    job = programme(9)
    noted = State(step=moment_step("release"), done=4, place=4, settled=4)
    job = with_recall(job, noted)
    before = State(step=moment_step("cut"), done=3, place=3, settled=3)
    call = State(step=moment_step("call"), done=4, place=4, settled=3)
    guard = State(step=moment_step("guard"), done=4, place=4, settled=4)
    assert "burr" in falls_due(job, before, call)
    assert falls_due(job, call, guard) == ""


def moment_step(name: str) -> Any:
    from assistant.engine.phases import Step

    return Step(name)


def with_recall(job: Programme, at: State) -> Programme:
    from dataclasses import replace

    return replace(job, recalls=(Recall(moment_of(at), "burr"),))


def test_what_is_not_there_is_told_in_a_line(tmp_path: Path) -> None:
    """No such job; and neither a job nor --again."""
    line = one_line(tallyhand("run", "--again", "nothing", "--data", tmp_path), 1)
    assert "tallyhand log" in line
    one_line(tallyhand("run", "--data", tmp_path), 2)
    one_line(tallyhand("run", "pinion", "--again", "x", "--data", tmp_path), 2)


def test_it_is_written_and_read_again(tmp_path: Path) -> None:
    """A restart in the middle knows what is still to be told."""
    job = with_recall(programme(9), State())
    with_times = Journal.create(tmp_path, job, "title = 'x'")
    with_times.close()
    assert read_journal(with_times.path).programme == job
