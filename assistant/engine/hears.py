"""Whether anything that is said now is heard: a person who can't know it answers twice, or thinks
that an answer was taken which nobody heard."""

from __future__ import annotations

from enum import StrEnum

from assistant.words.language import mark, say


class Hears(StrEnum):
    """What the ear does at this moment."""

    LISTENING = "listening"
    SPEAKING = "speaking"  # our own voice is no command: nothing is heard meanwhile
    OFF = "off"  # no ear, or no microphone


_WORDS = {
    Hears.LISTENING: mark("Listening"),
    Hears.SPEAKING: mark("Speaking: I hear nothing"),
    Hears.OFF: mark("Not listening"),
}


def hears_words(hears: Hears) -> str:
    """For a display, in the language in force."""
    return say(_WORDS[hears])
