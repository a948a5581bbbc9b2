"""`tallyhand rehearse`: the whole session with no device, from a script or from the keyboard."""

from __future__ import annotations

import sys
import tempfile
from argparse import Namespace
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import asdict, replace
from pathlib import Path

from assistant import errors
from assistant.bench.language_files import choose
from assistant.bench.rehearsal import JsonLines, PlainLines, Rehearsal
from assistant.commands import command_line, data_folder, head_options, pace_options
from assistant.commands.earlier import done_again
from assistant.files.settings import Settings, load_settings
from assistant.job.compiler import head_of, programme_of, setups_of
from assistant.job.from_drawer import with_drawer
from assistant.job.job_file import read_job
from assistant.job.programme import Programme, heeding
from assistant.job.which_head import as_set, with_other_head
from assistant.journal.writing import Journal
from assistant.words.language import speaking
from assistant.words.plain_text import plain


def main(given: Namespace) -> int:
    """0 where the script or the person came to the end of its lines. Raises Refusal for a line that
    makes no sense, with its number.
    """
    settings = load_settings()
    programme, text = _chosen(given, settings)
    by_hand = given.script == "-" and sys.stdin.isatty()
    # A script was written against the five questions of a cut; a person hears what the bench says.
    spoken = given.words or (settings.pace.words if by_hand else pace_options.WHOLE)
    # And against the set-up of the job itself.
    pace = settings.pace if by_hand else replace(settings.pace, trial_round=False)
    programme = pace_options.called_at(programme, pace, spoken)
    if by_hand:  # as with the pace: a script was written against what both may answer
        programme = heeding(programme, **asdict(settings.answers))
    with _folder(given.data) as folder, _script(given.script) as lines:
        people = {"operator": plain(settings.job.operator), "machine": plain(settings.job.machine)}
        journal = Journal.create(folder, programme, text, people)
        outlet = JsonLines(_line) if given.json else PlainLines(_line, programme.language)
        rehearsal = Rehearsal(journal, outlet)
        try:
            rehearsal.start()
            # In a script an empty line is only an empty line; a person types one as a press.
            rehearsal.run(lines, given.script, blank_presses=by_hand)
        finally:
            rehearsal.close()
    return command_line.DONE


def _chosen(given: Namespace, settings: Settings) -> tuple[Programme, str]:
    if given.again:
        return done_again(data_folder.folder(given.data), given.again, settings)
    if not given.job:
        raise errors.WrongUse(
            "tallyhand rehearse: name a JOB file, or --again JOB-ID; see: tallyhand rehearse --help"
        )
    job = read_job(Path(given.job), settings.job.units)
    job = as_set(head_options.with_chosen_head(job, given, settings.job.head), settings.job)
    job = with_drawer(job, settings)
    head = head_of(job)
    with speaking(choose(given.language or settings.speech.language, settings.file).code):
        programme = programme_of(job, head, setups_of(job, head)[0])
        return with_other_head(programme, head, settings.job.head), job.text


def _line(text: str) -> None:
    print(text, flush=True)


@contextmanager
def _folder(given: str | None) -> Iterator[Path]:
    """A named folder keeps the journal; without one a rehearsal leaves nothing behind."""
    named = data_folder.chosen_folder(given)
    if named:
        yield named
        return
    with tempfile.TemporaryDirectory(prefix="tallyhand-") as passing:
        yield Path(passing)


@contextmanager
def _script(name: str) -> Iterator[Iterator[str]]:
    if name == "-":
        yield iter(sys.stdin)
        return
    try:
        lines = Path(name).read_text("utf-8").splitlines()
    except OSError as error:
        raise errors.Refusal(f"{name}: can't read the script ({error.strerror})", "") from None
    except UnicodeDecodeError:
        raise errors.Refusal(f"{name}: not UTF-8 text", "save the script as UTF-8", ": ") from None
    yield iter(lines)
