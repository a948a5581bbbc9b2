"""An earlier session, found by a part of its name or title, to be done again."""

from __future__ import annotations

from pathlib import Path

from assistant.bench.again import programme_again
from assistant.bench.language_files import choose
from assistant.commands import command_line
from assistant.errors import Refusal
from assistant.files.settings import Settings
from assistant.job.programme import Programme
from assistant.journal.index import Listed, listing
from assistant.journal.reading import read_journal


def done_again(folder: Path, part: str, settings: Settings) -> tuple[Programme, str]:
    """The programme with what that session has to say, and the job's text. Raises Refusal or
    JournalFault."""
    reading = read_journal(folder / earlier_session(folder, part).name)
    try:
        choose(reading.programme.language, settings.file)
    except Refusal as error:
        command_line.complain(f"{error}; the session goes on in English")
    return programme_again(reading), reading.about.get("job", "")


def earlier_session(folder: Path, part: str) -> Listed:
    """The session of that name; of several that fit, the last worked on that was finished, else
    the last worked on. Raises Refusal where none fits."""
    jobs = [job for job in listing(folder) if not job.fault and named(job, part)]
    if not jobs:
        raise Refusal(
            f"no job named {part!r} in {folder}", "tallyhand log lists what is there", ": "
        )
    return max(jobs, key=lambda job: (job.finished, job.last_worked, job.name))


def named(job: Listed, part: str) -> bool:
    """By a part of the journal's name, or of its title."""
    return part.lower() in f"{Path(job.name).stem} {job.title}".lower()
