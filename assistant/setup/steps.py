"""The steps of the set-up, in their order."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, NamedTuple

from assistant.setup.headings import HEADINGS
from assistant.setup.talk import Talk
from assistant.words.choice import Choice

if TYPE_CHECKING:
    from assistant.setup.program_voice import Voice
    from assistant.setup.settings_text import SettingsText

_UNITS = (
    Choice("auto", "as the job gives its lengths"),
    Choice("mm", "millimetres"),
    Choice("in", "inches and thou"),
)
_ANSWERS = (
    Choice("pedal", "pedal, keys or page alone, advised: nobody else's voice counts"),
    Choice("both", "the voice too, whoever speaks"),
    Choice("voice", "the voice alone; all else where it can't be heard"),
)


class StepContext(NamedTuple):
    """What every step is given."""

    talk: Talk
    file: SettingsText
    voice: Voice


def _speaker(at: StepContext) -> None:
    from assistant.setup.speaker_talk import choose_speaker

    choose_speaker(at.talk, at.file, at.voice)


def _voice(at: StepContext) -> None:
    from assistant.setup.speaker_talk import choose_voice

    choose_voice(at.talk, at.file, at.voice)


def _head(at: StepContext) -> None:
    from assistant.setup.head_talk import choose_head

    folder = at.file.file.parent / "heads"
    name = choose_head(at.talk, folder, at.file.settings.job.head or "three-plate-40")
    at.file.set("job", "head", name)


def _units(at: StepContext) -> None:
    question = "Which lengths, where a job names none itself?"
    at.file.set("job", "units", at.talk.choose(question, _UNITS, at.file.settings.job.units))


def _pedal(at: StepContext) -> None:
    from assistant.setup.pedal_talk import choose_pedal

    choose_pedal(at.talk, at.file, at.voice)


def _answers(at: StepContext) -> None:
    question = "What may answer for lock and guard?"
    now = at.file.settings.answers.lock_and_guard
    at.file.set("answers", "lock_and_guard", at.talk.choose(question, _ANSWERS, now))


def _microphone(at: StepContext) -> None:
    from assistant.setup.ear_talk import choose_microphone

    choose_microphone(at.talk, at.file, at.voice)


def _learn(at: StepContext) -> None:
    from assistant.files.settings import load_settings
    from assistant.hearing.model_files import recordings
    from assistant.hearing.person.recordings import WANTED
    from assistant.hearing.vocabulary import read_vocabulary
    from assistant.setup.checks import device_names
    from assistant.setup.voice_lesson import learn_voice, record_phrases

    if at.voice.sound is None or not device_names()["microphones"]:
        return
    count = len(read_vocabulary()) * WANTED
    if not at.talk.yes(f"Teach the ear your voice now? It asks for {count} phrases.", False):
        at.talk.show("Later: tallyhand voice learn")
        return
    at.voice.wait()
    at.file.save()
    record_phrases(read_vocabulary(), load_settings(at.file.file))
    learn_voice(recordings())


_DONE = (_speaker, _voice, _head, _units, _pedal, _answers, _microphone, _learn)
STEPS: dict[str, tuple[str, Callable[[StepContext], None]]] = {
    name: (heading, do) for (name, heading), do in zip(HEADINGS.items(), _DONE, strict=True)
}
"""By name: the heading and what is done."""
