"""A job whose log can't be made: said aloud, and tried again until there is room.

There is no session yet, so no screen and no pedal: the voice alone, and the terminal.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from contextlib import suppress

from assistant.engine import wording
from assistant.engine.events import Event, Tone
from assistant.files.settings import Settings
from assistant.journal.fault import OutOfReach
from assistant.journal.writing import Journal
from assistant.words.language import in_force, speaking

RETRY_S = 5.0
LAST_WORDS_S = 20.0  # a sentence may take so long
Aloud = Callable[[Callable[[], str]], None]  # words that are made in the language of the job


def when_there_is_room(
    make: Callable[[], Journal],
    aloud: Aloud,
    tell: Callable[[str], None],
    wait: Callable[[float], None] = time.sleep,
    *,
    stays: bool,
) -> Journal:
    """What `make` makes. While the disk does not allow it that is said once and tried again, as
    long as somebody `stays` at a terminal, who can leave with Ctrl-C; with nobody there it is
    said and the fault raised. `wait` takes seconds."""
    try:
        return make()
    except OutOfReach as fault:
        if not stays:
            aloud(wording.cannot_begin)
            raise
        tell(f"{fault}; trying again every {RETRY_S:.0f} s, Ctrl-C leaves")
        aloud(wording.cannot_begin)
    while True:
        wait(RETRY_S)
        with suppress(OutOfReach):
            return make()


def somebody_stays() -> bool:
    """Standard input is a terminal: somebody is there who can leave with Ctrl-C."""
    try:
        return sys.stdin.isatty()
    except (AttributeError, ValueError):
        return False


def room_voice(settings: Settings, language: str) -> Aloud:
    """Says it to its end by the loudspeaker, where there is one; opened when it is needed."""

    def aloud(words: Callable[[], str]) -> None:
        with speaking(language):
            _speak(settings, words())

    return aloud


def _speak(settings: Settings, text: str) -> None:
    if settings.speech.engine == "none":
        return
    from assistant.bench.at_the_bench import settings_in_language
    from assistant.devices.sound.streams import NoSoundError, Sound
    from assistant.devices.speech.announcer import VoiceAnnouncer
    from assistant.devices.speech.synth import choose_synth

    settings = settings_in_language(settings, in_force())
    synth = choose_synth(settings.speech)
    if synth is None:
        return
    try:
        sound = Sound()
    except NoSoundError:
        return
    announcer = VoiceAnnouncer(sound, synth, settings, _nobody, _unseen)
    try:
        announcer.signal(Tone.ATTENTION)
        announcer.say(text)
        end = time.monotonic() + LAST_WORDS_S
        while announcer.busy() and time.monotonic() < end:
            time.sleep(0.05)
    finally:
        announcer.close()
        sound.close()


def _nobody(_: Event) -> None:
    """There is no session that news of the loudspeaker could reach."""


def _unseen(_: Tone) -> None:
    """No screen is open."""
