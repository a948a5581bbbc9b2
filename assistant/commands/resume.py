"""`tallyhand resume`: the last unfinished job goes on, after its position has been checked."""

from __future__ import annotations

import sys
import time
from pathlib import Path

from assistant import cli, data_folder, page_options
from assistant.bench import at_the_bench
from assistant.events import SessionResumed
from assistant.journal import Journal
from assistant.journal_index import listing
from assistant.language_files import choose
from assistant.settings import Settings, load


def main(words: list[str]) -> int:
    parser = cli.Parser(
        "resume",
        "Go on with the last unfinished job. It begins with a check of the position: "
        "the journal can't know what the metal did.",
        "tallyhand resume",
    )
    parser.add_argument("--config", metavar="FILE", help="settings file (else your own, if any)")
    page_options.add_options(parser)
    data_folder.add_option(parser)
    given = parser.parse_args(words)
    settings = page_options.chosen(load(Path(given.config) if given.config else None), given)
    journal = last_unfinished(given.data)
    page_options.renew_key(given, journal.path.parent)
    _learn(journal.programme.language, settings)
    print(" ".join(journal.found.lines(time.time())), file=sys.stderr)
    finished = at_the_bench(journal, settings, SessionResumed)
    if not finished:
        cli.tell("The job is kept. To go on: tallyhand resume")
    return cli.DONE


def _learn(language: str, settings: Settings) -> None:
    """A job goes on in the language that it began in; in English where that is gone."""
    try:
        choose(language, settings.file)
    except cli.Refusal as error:
        cli.complain(f"{error}; the session goes on in English")


def last_unfinished(data: str | None) -> Journal:
    """The journal last worked on that is not finished. Raises Refusal when there is none."""
    folder = data_folder.guard(data)
    jobs = listing(folder)
    for job in jobs:
        if job.fault:
            cli.complain(job.fault)
    open_jobs = [job for job in jobs if not job.fault and not job.finished]
    if not open_jobs:
        raise cli.Refusal(f"no unfinished job in {folder}: begin one with: tallyhand run JOB")
    last = max(open_jobs, key=lambda job: (job.last_worked, job.name))
    return Journal.open(folder / last.name)
