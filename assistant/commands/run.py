"""`tallyhand run`: a session at the bench; `--again`: as a job was done before."""

from __future__ import annotations

from argparse import Namespace
from dataclasses import asdict
from pathlib import Path

from assistant.bench.at_the_bench import at_the_bench
from assistant.bench.language_files import choose
from assistant.bench.room import room_voice, somebody_stays, when_there_is_room
from assistant.commands import command_line, data_folder, head_options, pace_options, page_options
from assistant.commands.earlier import done_again
from assistant.engine.events import SessionStarted
from assistant.errors import WrongUse
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
    """0 where the job is finished, or was left and is kept. Raises Refusal for a job that can't be
    made, or where nobody can answer.
    """
    settings = page_options.with_page_options(
        load_settings(Path(given.config) if given.config else None), given
    )
    folder = data_folder.guarded_folder(given.data)
    programme, text = _chosen(given, settings, folder)
    programme = pace_options.called_at(programme, settings.pace, given.words or settings.pace.words)
    programme = heeding(programme, **asdict(settings.answers))
    page_options.renew_key(given, folder)
    people = {
        "operator": plain(given.operator or settings.job.operator),
        "machine": plain(settings.job.machine),
    }
    journal = when_there_is_room(
        lambda: Journal.create(folder, programme, text, people),
        room_voice(settings, programme.language), command_line.tell, stays=somebody_stays(),
    )  # fmt: skip
    finished = at_the_bench(journal, settings, SessionStarted)
    if not finished:
        command_line.tell("The job is kept. To go on: tallyhand resume")
    return command_line.DONE


def _chosen(given: Namespace, settings: Settings, folder: Path) -> tuple[Programme, str]:
    """The programme and the job's text: of a file, or of a session that is done again."""
    if given.again:
        if given.job or given.head or given.own_head:
            raise WrongUse(
                "tallyhand run: --again takes job and head from the log: leave JOB and --head out"
            )
        return done_again(folder, given.again, settings)
    if not given.job:
        raise WrongUse("tallyhand run: name a job file, or --again JOB-ID (tallyhand log has it)")
    job = read_job(Path(given.job), settings.job.units)
    job = as_set(head_options.with_chosen_head(job, given, settings.job.head), settings.job)
    job = with_drawer(job, settings)
    head = head_of(job)
    with speaking(choose(settings.speech.language, settings.file).code):
        programme = programme_of(job, head, setups_of(job, head)[0])
        return with_other_head(programme, head, settings.job.head), job.text
