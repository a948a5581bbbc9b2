"""`tallyhand resume`: the last unfinished job goes on, after its position has been checked."""

from __future__ import annotations

import sys
import time
from argparse import Namespace
from pathlib import Path

from assistant import errors
from assistant.bench.at_the_bench import at_the_bench
from assistant.bench.language_files import choose
from assistant.bench.room import room_voice, somebody_stays, when_there_is_room
from assistant.commands import command_line, data_folder, page_options
from assistant.engine.events import SessionResumed
from assistant.files.settings import Settings, load_settings
from assistant.journal.index import listing
from assistant.journal.writing import Journal


def main(given: Namespace) -> int:
    """0 where the job is finished, or was left and is kept. Raises Refusal where there is none
    to go on with.
    """
    settings = page_options.with_page_options(
        load_settings(Path(given.config) if given.config else None), given
    )
    journal = when_there_is_room(
        lambda: last_unfinished(given.data),
        room_voice(settings, settings.speech.language), command_line.tell, stays=somebody_stays(),
    )  # fmt: skip
    page_options.renew_key(given, journal.path.parent)
    _learn(journal.programme.language, settings)
    print(" ".join(journal.found.lines(time.time())), file=sys.stderr)
    finished = at_the_bench(journal, settings, SessionResumed)
    if not finished:
        command_line.tell("The job is kept. To go on: tallyhand resume")
    return command_line.DONE


def _learn(language: str, settings: Settings) -> None:
    """A job goes on in the language that it began in; in English where that is gone."""
    try:
        choose(language, settings.file)
    except errors.Refusal as error:
        command_line.complain(f"{error}; the session goes on in English")


def last_unfinished(data: str | None) -> Journal:
    """The journal last worked on that is not finished. Raises Refusal when there is none."""
    folder = data_folder.guarded_folder(data)
    jobs = listing(folder)
    for job in jobs:
        if job.fault:
            command_line.complain(job.fault)
    open_jobs = [job for job in jobs if not job.fault and not job.finished]
    if not open_jobs:
        raise errors.Refusal(
            f"no unfinished job in {folder}", "begin one with: tallyhand run JOB", ": "
        )
    last = max(open_jobs, key=lambda job: (job.last_worked, job.name))
    return Journal.open(folder / last.name)
