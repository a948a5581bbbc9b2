"""`tallyhand job new`: from the drawing to a job file, by question and answer."""

from __future__ import annotations

import re
import sys
import unicodedata
from argparse import Namespace
from collections.abc import Callable
from pathlib import Path

from assistant import errors
from assistant.asking import ending
from assistant.asking.interview import Asking, Interview
from assistant.asking.of_every_job import KIND
from assistant.bench.language_files import choose
from assistant.commands import command_line
from assistant.commands.asked_lines import answers
from assistant.files.settings import Settings, load_settings
from assistant.job.drawer import drawer_of
from assistant.setup.talk import Left
from assistant.words.language import say, speaking


def main(given: Namespace) -> int:
    """Asks in the terminal or on a page, in the language of the settings, and writes the
    file at the end.
    """
    settings = load_settings(Path(given.config) if given.config else None)
    with speaking(choose(settings.speech.language, settings.file).code):
        if given.voice:
            return _aloud(settings, given)
        lines, echo = answers(given.answers)
        interview = begun(Asking(lines, sys.stdout, echo=echo), settings, given.head)
        if given.page:
            return _on_a_page(interview, settings, given)
        return _asked(interview, given)


def _aloud(settings: Settings, given: Namespace) -> int:
    """No session begins from here: the keys are read in this one until it ends. Raises Refusal or
    WrongUse."""
    from assistant.setup.answers_aloud import AnswersAloud, how

    if given.page or given.answers:
        raise errors.WrongUse("tallyhand job new: --voice goes without --page and --answers")
    aloud = AnswersAloud(settings, print)
    try:
        talk = Asking(aloud, sys.stdout, speak=aloud.say, hush=aloud.hush)
        talk.tell(how())
        return _asked(begun(talk, settings, given.head), given, may_begin=False)
    finally:
        aloud.close()


def begun(talk: Asking, settings: Settings, head: str | None) -> Interview:
    """An interview with the head and lengths that are offered. Raises Refusal for a fault
    in the drawer.
    """
    units = "in" if settings.job.units == "in" else "mm"
    drawer_of(settings)  # a fault in it is told before anything is asked
    return Interview(talk, head or settings.job.head or "three-plate-40", units, settings=settings)


def _asked(interview: Interview, given: Namespace, *, may_begin: bool = True) -> int:
    talk = interview.talk
    talk.show(say("A new job. Enter takes what stands in brackets, < goes back, q leaves."))
    try:
        interview.walk()
        path = place(interview, given.out)
        begin = ending.settle_plan(interview, path, may_begin=may_begin)
    except (Left, KeyboardInterrupt):
        return _left(interview, given.out)
    write_job(path, interview.text())
    talk.show(say("The job is in {file}", file=path))
    if begin:
        return _begun_at_once(path, given.config)
    talk.show(say("Next: tallyhand run {file}", file=path))
    return command_line.DONE


def _begun_at_once(path: Path, config: str | None) -> int:
    """As `tallyhand run FILE` would, without being typed."""
    from assistant.commands import parsers, run

    words = [str(path), *(["--config", config] if config else [])]
    return run.main(parsers.run().parse_args(words))


def _on_a_page(interview: Interview, settings: Settings, given: Namespace) -> int:
    def finish() -> Path:
        path = place(interview, given.out)
        write_job(path, interview.text())
        return path

    port = settings.page.port if given.port is None else given.port
    path = on_a_page(interview, finish, port, say("A new job"))
    if path is None:
        return _left(interview, given.out)
    interview.talk.show(say("The job is in {file}", file=path))
    interview.talk.show(say("Next: tallyhand run {file}", file=path))
    return command_line.DONE


def on_a_page(
    interview: Interview, finish: Callable[[], Path], port: int, title: str, *, fill: bool = True
) -> Path | None:
    """Until the page says that it is to be written: where it is; None where it was stopped.

    Raises Refusal where no page can be served.
    """
    from assistant.asking.form_server import FormPage

    try:
        page = FormPage(interview, finish, port, title, fill=fill)
    except OSError as error:
        why = error.strerror or str(error)
        raise errors.Refusal(
            f"no page ({why})", "choose another port with --port 0", ": "
        ) from None
    try:
        interview.talk.show(say("Open this page: {address}", address=page.address))
        return page.wait()
    except KeyboardInterrupt:
        return None
    finally:
        page.close()


def _left(interview: Interview, out: str | None) -> int:
    """What was answered is worth keeping once it is known what is made."""
    if KIND not in interview.values:
        interview.talk.show(say("Left: nothing was written."))
        return command_line.REFUSED
    path = place(interview, out)
    write_job(path, interview.text())
    interview.talk.show(say("Left. What was answered is kept. To go on: tallyhand job edit {file}",
                            file=path))  # fmt: skip
    return command_line.REFUSED


def place(interview: Interview, out: str | None) -> Path:
    """Where it is written: as named, else after the title, beside nothing of that name."""
    if out:
        return Path(out)
    title = unicodedata.normalize("NFKD", str(interview.values.get(("", "title"), "job")))
    bare = re.sub(r"[^a-z0-9]+", "-", title.encode("ascii", "ignore").decode().lower()).strip("-")
    name, n = bare[:60] or "job", 1
    while (path := Path(f"{name}.toml" if n == 1 else f"{name}-{n}.toml")).exists():
        n += 1
    return path


def write_job(path: Path, text: str) -> None:
    """Whole or not at all. Raises Refusal."""
    part = path.with_name(f".{path.name}.part")
    try:
        part.write_text(text, "utf-8")
        part.replace(path)
    except OSError as error:
        raise errors.Refusal(
            f"{path}: can't write the job ({error.strerror})",
            "choose another place with --out",
            ": ",
        ) from None
