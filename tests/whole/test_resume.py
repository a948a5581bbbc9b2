"""`tallyhand resume`, as a process: what it says of the journal, and of all that it passes over."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

import pytest

from assistant.tools import catalogue
from tests.commands import COUNT_WHEEL, PINION, tallyhand
from tests.page.test_whole_program import Program

PRESS = json.dumps({"press": "main"}) + "\n"


@pytest.fixture
def programs() -> Iterator[list[Program]]:
    started: list[Program] = []
    yield started
    for program in started:
        program.close()


def begun(folder: Path, job: Path = COUNT_WHEEL, presses: int = 3, *words: str) -> None:
    """A job in the folder's journals, left after so many presses."""
    env = {"TALLYHAND_CONFIG": str(folder / "tallyhand.toml")}
    (folder / "tallyhand.toml").touch()
    done = tallyhand(
        "rehearse", job, "--data", folder / "data", *words, given=PRESS * presses, env=env
    )
    assert done.returncode == 0, done.stderr


def test_it_goes_on_with_the_job_worked_on_last(tmp_path: Path, programs: list[Program]) -> None:
    """Of several open jobs the last one, whatever the others are; a damaged journal beside them is
    told with its file; a polite end says how to go on."""
    begun(tmp_path, PINION)
    begun(tmp_path)
    broken = tmp_path / "data" / "broken.journal"
    broken.write_bytes(b"cider" * 1000)
    program = Program(tmp_path, "resume", "--port", "0")
    programs.append(program)
    assert f"{broken}: the journal is damaged (it is no SQLite file)" in program.text()
    assert "The journal holds 4 records." in program.text()
    program.close()
    assert program.process.returncode == 0
    assert "The job is kept. To go on: tallyhand resume" in program.text()
    jobs = json.loads(tallyhand("log", "--json", "--data", tmp_path / "data").stdout)["jobs"]
    kinds = {job["title"]: [each["event"]["kind"] for each in job["events"]] for job in jobs}
    wheel = kinds["Count wheel of the cider mill"]
    assert "SessionResumed" in wheel and wheel[-1] == "SessionLeft"
    assert "SessionResumed" not in kinds["Cider mill pinion"]


def test_a_language_that_is_gone_is_replaced_by_english(
    tmp_path: Path, programs: list[Program]
) -> None:
    """The job is not lost with the folder of its language: one line, and it goes on."""
    folder = tmp_path / "language" / "nl"
    assert catalogue.main(["begin", "nl", str(folder)]) == 0
    assert catalogue.main(["compile", str(folder)]) == 0
    begun(tmp_path, COUNT_WHEEL, 3, "--language", "nl")
    for file in folder.iterdir():
        file.unlink()
    folder.rmdir()
    program = Program(tmp_path, "resume", "--port", "0")
    programs.append(program)
    (line,) = (line for line in program.text().splitlines() if "goes on in English" in line)
    assert "'nl'" in line and "de, en" in line


def test_nothing_but_what_can_not_be_read(tmp_path: Path) -> None:
    """A finished job and a damaged one: the damage is told, and how to begin."""
    begun(tmp_path, COUNT_WHEEL, 60)
    broken = tmp_path / "data" / "broken.journal"
    broken.write_bytes(b"")
    done = tallyhand("resume", "--data", tmp_path / "data")
    assert done.returncode == 1
    damage, nothing = done.stderr.splitlines()
    assert damage.startswith(f"{broken}: the journal is damaged")
    assert "no unfinished job" in nothing and "tallyhand run JOB" in nothing
