"""`tallyhand job edit FILE`: answers changed; where the file has faults, only those asked again."""

from __future__ import annotations

import sys
from argparse import Namespace
from pathlib import Path

from assistant import errors
from assistant.asking import job_text
from assistant.asking.editing import Editing
from assistant.asking.interview import Asking
from assistant.asking.one_ring import OneRing, Values, ring_names
from assistant.bench.language_files import choose
from assistant.commands import command_line
from assistant.commands.asked_lines import answers
from assistant.commands.job_new import begun, on_a_page, write_job
from assistant.files.settings import load_settings
from assistant.files.toml_lines import TomlFault, parse
from assistant.job.job_file import JobFaults, job_from_text
from assistant.setup.talk import Left
from assistant.words.language import say, speaking


def main(given: Namespace) -> int:
    """Asks for what is to change, or for what is at fault, and writes the file when the
    person keeps it.
    """
    settings = load_settings(Path(given.config) if given.config else None)
    path = Path(given.file)
    text = _text(path)
    lines, echo = answers(given.answers)
    with speaking(choose(settings.speech.language, settings.file).code):
        interview = begun(Asking(lines, sys.stdout, echo=echo), settings, None)
        interview.values = job_text.values_in(parse(text))
        interview.values.setdefault(("", "units"), _units(text, path, interview.units))
        editing = Editing(interview, path, text, _ring(interview.values, path, given))
        if given.page:
            port = settings.page.port if given.port is None else given.port
            return _on_a_page(editing, path, port)
        try:
            whole = editing.mend()
        except (Left, KeyboardInterrupt):
            whole = False
        return _written(editing, path, whole)


def _units(text: str, path: Path, customary: str) -> str:
    """What a bare number is in where the file does not say: that of its first length."""
    try:
        return job_from_text(text, str(path)).unit
    except JobFaults:
        return customary


def _on_a_page(editing: Editing, path: Path, port: int) -> int:
    """Every answer of the file, to be changed in a browser; what it leaves open stays open.

    Raises Refusal where no page can be served.
    """

    def finish() -> Path:
        editing.fill_what_is_missing()
        if editing.ring and (wrong := editing.wrong()):
            raise errors.Refusal(wrong)  # alone it was good, beside the other rings it is not
        write_job(path, editing.now)
        return path

    whole = on_a_page(editing.interview, finish, port, say("A job changed"), fill=False)
    if whole:
        editing.interview.talk.show(say("The job is in {file}", file=path))
    return command_line.DONE if whole else command_line.REFUSED


def _ring(values: Values, path: Path, given: Namespace) -> OneRing | None:
    """The ring that is named; None where none is, or for a job of a single work. Raises Refusal for
    a ring that is not there, and for a page of a job whose ring is not named."""
    called = ring_names(values)
    wanted = given.ring
    if wanted is None:
        if called and given.page:
            each = ", or ".join(f"--ring {name}" for name in called)
            raise errors.Refusal(f"{path}: each ring has a page of its own", f"add {each}", ": ")
        return None
    if wanted in called:
        return OneRing(called.index(wanted) + 1)
    if wanted.isascii() and wanted.isdigit() and 1 <= int(wanted) <= len(called):
        return OneRing(int(wanted))
    there = f"give one of {', '.join(called)}" if called else "it has none, leave --ring out"
    raise errors.Refusal(f"{path}: no ring {wanted!r}", there, ": ")


def _text(path: Path) -> str:
    """Raises Refusal for a file that can't be read, or is no TOML at all."""
    try:
        text = path.read_text("utf-8")
        parse(text)
    except TomlFault as fault:
        raise errors.Refusal(
            f"{path} line {fault.line}: {fault}", "mend the TOML there", ": "
        ) from None
    except (OSError, UnicodeDecodeError) as error:
        reason = getattr(error, "strerror", None) or error
        raise errors.Refusal(f"{path}: can't be read ({reason})", "name a job file", ": ") from None
    return text


def _written(editing: Editing, path: Path, whole: bool) -> int:
    talk = editing.interview.talk
    talk.show()
    if editing.now != editing.text:
        write_job(path, editing.now)
        talk.show(say("The job is in {file}", file=path))
    else:
        talk.show(say("Nothing was changed."))
    return command_line.DONE if whole else command_line.REFUSED
