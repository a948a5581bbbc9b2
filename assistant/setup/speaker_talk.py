"""The speaker and how it speaks: device, voice, speed, loudness, each heard at once."""

from __future__ import annotations

import shutil
import subprocess
from dataclasses import replace

from assistant.bench.language_files import FOLDER, codes, load_language
from assistant.files.settings import Settings, SpeechSettings
from assistant.setup.checks import device_names
from assistant.setup.program_voice import Voice
from assistant.setup.settings_text import SettingsText
from assistant.setup.talk import Talk
from assistant.words.choice import Choice
from assistant.words.language import Language, speaking
from assistant.words.moves import move_words
from solver import Move

SAMPLE = Move(turns=4, holes=12, circle=27)
_SYSTEM = Choice("", "the system's own choice")


def choose_speaker(talk: Talk, file: SettingsText, voice: Voice) -> None:
    """Raises Left."""
    if voice.why:
        talk.show(f"No voice: {voice.why}. The screen carries the words; run setup again then.")
        return
    while True:
        why = _heard(voice, file)
        if why:
            talk.show(f"Nothing was played: {why}")
        elif talk.yes("I have just said a move. Did you hear it?", True):
            return
        names = device_names()["speakers"]
        choices = [_SYSTEM, *(Choice(name, name) for name in names)]
        before = file.settings.sound.speaker
        name = talk.choose("Which speaker shall it be?", choices, before)
        if name == before and not talk.yes("The same again. Try once more?", not why):
            return
        file.set("sound", "speaker", name)
        voice.renew(file.settings)


def choose_voice(talk: Talk, file: SettingsText, voice: Voice) -> None:
    """Language, voice, speed and loudness. Raises Left."""
    _language(talk, file)
    while True:
        speech = with_its_voice(file.settings, language_of(file)).speech
        choices = voices(speech.voice)
        if len(choices) > 1:
            name = talk.choose("Which voice?", choices, speech.voice)
            # The language's own voice is left to the language, should that change.
            if name != speech.voice:
                file.set("speech", "voice", name)
        speed = talk.whole("Words a minute?", speech.words_per_minute, 80, 400)
        file.set("speech", "words_per_minute", speed)
        loudness = talk.whole("Loudness? 100 is the voice as it is.", speech.loudness, 1, 200)
        file.set("speech", "loudness", loudness)
        if voice.why:
            return
        if why := _heard(voice, file):
            talk.show(f"Nothing was played: {why}")
            return
        if talk.yes("That is how I speak now. Is it right?", True):
            return


def _heard(voice: Voice, file: SettingsText) -> str:
    """Says a move as a session would; why it was not heard, or nothing."""
    language = language_of(file)
    voice.renew(with_its_voice(file.settings, language))
    with speaking(language.code):
        voice.say(move_words(SAMPLE))
    why = voice.wait()
    voice.renew(file.settings)
    return why


def language_of(file: SettingsText) -> Language:
    """The language of the settings, learned. Raises Refusal for one that is not there."""
    return load_language(file.settings.speech.language, file.file.parent / FOLDER)


def with_its_voice(settings: Settings, language: Language) -> Settings:
    """The settings with the language's own voice, unless another was chosen."""
    own = settings.speech.voice == SpeechSettings().voice
    voice = language.voice if own else settings.speech.voice
    return replace(settings, speech=replace(settings.speech, voice=voice))


def _language(talk: Talk, file: SettingsText) -> None:
    folder = file.file.parent / FOLDER
    found = [load_language(code, folder) for code in codes(folder)]
    if len(found) < 2:
        return
    choices = [Choice(each.code, f"{each.code}: {each.name}") for each in found]
    before = file.settings.speech.language
    code = talk.choose("Which language shall a session speak?", choices, before)
    file.set("speech", "language", code)
    if code != before:
        file.set("speech", "voice", SpeechSettings().voice)


def voices(present: str) -> list[Choice]:
    """The voices of espeak-ng in the language of the present one; that one alone elsewhere."""
    own = [Choice(present, present)]
    if not present or shutil.which("espeak-ng") is None:
        return own
    language = present.partition("-")[0]
    try:
        done = subprocess.run(
            ["espeak-ng", f"--voices={language}"],
            capture_output=True, text=True, check=False, timeout=10,
        )  # fmt: skip
    except (OSError, subprocess.TimeoutExpired):
        return own
    rows = [line.split() for line in done.stdout.splitlines()[1:]]
    # Those of another synthesizer (mb) may lack their data; variants (!v) are no voices.
    good = [row for row in rows if len(row) > 4 and not row[4].startswith(("mb/", "!v"))]
    found = {row[1]: row[3].replace("_", " ") for row in good}
    found.setdefault(present, present)
    return [Choice(code, f"{code}: {name}") for code, name in sorted(found.items())]
