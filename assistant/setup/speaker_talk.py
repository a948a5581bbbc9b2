"""The speaker and how it speaks: device, voice, speed, loudness, each heard at once."""

from __future__ import annotations

import shutil
import subprocess
from dataclasses import fields

from assistant.devices.checks import device_names
from assistant.settings import Speech
from assistant.setup.settings_text import SettingsText
from assistant.setup.talk import Choice, Talk
from assistant.setup.voice import Voice

SAMPLE = "Four turns, then twelve holes on the twenty-seven circle."
_SYSTEM = Choice("", "the system's own choice")


def choose_speaker(talk: Talk, file: SettingsText, voice: Voice) -> None:
    """Raises Left."""
    if voice.why:
        talk.show(f"No voice: {voice.why}. The screen carries the words; run setup again then.")
        return
    while True:
        why = _heard(voice)
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
    _language(talk, file, voice)
    while True:
        speech = file.settings.speech
        choices = voices(speech.voice)
        if len(choices) > 1:
            name = talk.choose("Which voice?", choices, speech.voice)
            file.set("speech", "voice", name)
        speed = talk.whole("Words a minute?", speech.words_per_minute, 80, 400)
        file.set("speech", "words_per_minute", speed)
        loudness = talk.whole("Loudness? 100 is the voice as it is.", speech.loudness, 1, 200)
        file.set("speech", "loudness", loudness)
        if voice.why:
            return
        voice.renew(file.settings)
        if why := _heard(voice):
            talk.show(f"Nothing was played: {why}")
            return
        if talk.yes("That is how I speak now. Is it right?", True):
            return


def _heard(voice: Voice) -> str:
    voice.hush()
    voice.say(SAMPLE)
    return voice.wait()


def _language(talk: Talk, file: SettingsText, voice: Voice) -> None:
    rule = next((each for each in fields(Speech) if each.name == "language"), None)
    codes = rule.metadata.get("one_of", ()) if rule else ()
    if len(codes) < 2:
        return
    now = str(getattr(file.settings.speech, "language"))  # noqa: B009 (not in every version)
    code = talk.choose("Which language?", [Choice(each, each) for each in codes], now)
    file.set("speech", "language", code)
    voice.renew(file.settings)


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
