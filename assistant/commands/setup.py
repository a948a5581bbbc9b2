"""`tallyhand setup`: the first set-up, talked through; again at any time."""

from __future__ import annotations

import contextlib
import sys
from argparse import Namespace
from pathlib import Path

from assistant import errors
from assistant.commands import command_line
from assistant.commands.asked_lines import answers
from assistant.files import settings
from assistant.setup.program_voice import Voice
from assistant.setup.settings_text import SettingsText
from assistant.setup.steps import STEPS, StepContext
from assistant.setup.talk import Left, Talk
from assistant.setup.what_next import next_steps


def main(given: Namespace) -> int:
    """Asks step by step; what was answered is kept also where the person leaves before the end."""
    file = SettingsText(_file(given.config))
    lines, echo = answers(given.answers)
    voice = Voice(file.settings, silent=given.silent)
    # The questions are English: a voice of another language says moves, not these.
    speak = lambda text: voice.say(text) if file.settings.speech.language == "en" else None  # noqa: E731
    talk = Talk(lines, sys.stdout, echo=echo, speak=speak, hush=voice.hush)
    try:
        _walk(given.steps or list(STEPS), StepContext(talk, file, voice))
    except (Left, KeyboardInterrupt):
        talk.show()
        talk.show("Left. What you answered is kept; tallyhand setup takes it up again.")
    finally:
        with contextlib.suppress(KeyboardInterrupt):
            voice.close()
    _ending(talk, file)
    return command_line.DONE


def _file(named: str | None) -> Path:
    return Path(named).expanduser() if named else settings.settings_file()


def _walk(names: list[str], at: StepContext) -> None:
    for name in names:
        if name not in STEPS:
            known = ", ".join(STEPS)
            raise errors.WrongUse(f"tallyhand setup: no step {name!r}; steps are {known}")
    at.talk.show(f"Settings: {at.file.file}")
    at.talk.show("Enter keeps what stands in brackets. q leaves; what was answered is kept.")
    for name in names:
        heading, do = STEPS[name]
        at.talk.show(f"\n== {heading} ==")
        do(at)
    at.file.save()
    at.talk.tell("The set-up is done.")
    at.voice.wait()


def _ending(talk: Talk, file: SettingsText) -> None:
    if file.file.exists():
        talk.show(f"Settings are in {file.file}")
    if file.kept is not None:
        talk.show(f"As they were before: {file.kept}")
    for line in next_steps(file.settings):
        talk.show(line)
