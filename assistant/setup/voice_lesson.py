"""The lesson of one's own voice: recorded phrase by phrase, then learned."""

from __future__ import annotations

from pathlib import Path

from assistant.errors import Refusal, passed_on
from assistant.files.settings import Settings
from assistant.hearing.model_files import (
    base_classifier,
    learned_classifier,
    learned_sound,
    recordings,
)
from assistant.hearing.person.recordings import kept_recordings
from assistant.hearing.vocabulary import Vocabulary, read_vocabulary
from assistant.setup.program_voice import Voice


def record_phrases(phrases: Vocabulary, settings: Settings) -> None:
    """Ask for these phrases, aloud, and keep what is said. Raises Refusal where there is no
    microphone or no sound, and where the person stops it."""
    from assistant.hearing.person.lesson import Lesson
    from assistant.hearing.person.recorder import NoMicrophoneError, Recorder

    voice = Voice(settings, silent=False)
    if voice.sound is None:
        voice.close()
        raise Refusal(voice.why)

    def say(text: str) -> None:
        voice.say(text)
        voice.wait()

    recorder = Recorder(settings, voice.sound, voice.busy)
    try:
        Lesson(recorder, recordings(), say, _show).give(sorted(phrases))
    except NoMicrophoneError as error:
        raise passed_on(error) from error
    except KeyboardInterrupt as error:
        raise Refusal("stopped", "to go on: tallyhand voice learn") from error
    finally:
        recorder.close()
        voice.close()


def learn_voice(place: Path) -> None:
    """Fit the ear to the recordings of a folder and keep it. Raises Refusal."""
    from assistant.hearing.classifier.classifier import load_classifier, save_classifier
    from assistant.hearing.person.adapting import adapt, sound_of
    from assistant.hearing.person.learned_sound import save_sound

    if not place.is_dir():
        raise Refusal(f"{place}: no such folder", "name one with recordings")
    sounds = kept_recordings(place, sorted(read_vocabulary()))
    head = adapt(load_classifier(base_classifier()), sounds, _show)
    sound = sound_of(sounds, _show)
    save_classifier(head, learned_classifier())
    save_sound(sound, learned_sound())
    print(
        f"learned from {sum(map(len, sounds.values()))} recordings. Kept in {learned_classifier()}"
    )


def _show(text: str) -> None:
    print(text, flush=True)
