"""The phrases that are listened for: two to four words, unlike each other in sound.

No phrase stands inside another, and a confirmation names the thing confirmed: no bare
"yes" does anything.
"""

from __future__ import annotations

from assistant.engine.events import Command
from assistant.words.language import Language, in_force, learned

LOCK_AND_GUARD = frozenset({Command.LOCKED, Command.GUARDED})
"""What stands between the person and the cutter: heard only when nearly certain."""

PHRASES: dict[Command, tuple[str, ...]] = {
    Command.CHECKED: ("set and checked",),
    Command.RELEASED: ("lock is off",),
    Command.PINNED: ("pin is home",),
    Command.LOCKED: ("spindle locked",),
    Command.GUARDED: ("guard closed",),
    Command.CUT_DONE: ("cut done",),
    Command.PLACE_RIGHT: ("place is certain",),
    Command.CLOSED_UP: ("back at the start",),
    Command.BACKED_OFF: ("half turn back",),
    Command.SIZE_RIGHT: ("reading is true",),
    Command.UNMEASURED: ("leave it unmeasured",),
    Command.WHAT_NEXT: ("what is next",),
    Command.SAY_AGAIN: ("say again",),
    Command.WHERE_AM_I: ("where am I",),
    Command.HOW_MANY_LEFT: ("how many left",),
    Command.GO_BACK: ("go back one",),
    Command.PAUSE: ("pause the job",),
    Command.CARRY_ON: ("carry on now",),
    Command.LOST_COUNT: ("lost my count",),
    Command.OVERSHOT: ("went past the hole",),
    Command.NOTE: ("make a note",),
    Command.FEWER_WORDS: ("fewer words",),
    Command.MORE_WORDS: ("more words",),
    Command.NEXT_PART: ("next part",),
}

CONFIRMATIONS: frozenset[Command] = frozenset(
    {
        Command.CHECKED,
        Command.RELEASED,
        Command.PINNED,
        Command.LOCKED,
        Command.GUARDED,
        Command.CUT_DONE,
        Command.PLACE_RIGHT,
        Command.CLOSED_UP,
        Command.BACKED_OFF,
        Command.SIZE_RIGHT,
        Command.UNMEASURED,
    }
)

BY_KEY: frozenset[Command] = frozenset({Command.FEWER_WORDS, Command.MORE_WORDS, Command.NEXT_PART})
"""Have a key and a button: an ear that does not know their phrases lacks nothing needed."""


def normalise(text: str) -> str:
    """Lower case, single spaces, no punctuation: "Where am I?" -> "where am i"."""
    kept = "".join(c if c.isalnum() or c.isspace() or c == "'" else " " for c in text.lower())
    return " ".join(kept.split())


def phrases_of(language: Language) -> dict[Command, tuple[str, ...]]:
    """What is listened for in a language, the phrase that is named to the person first."""
    named = language.phrases
    return {command: tuple(named.get(command.value, several)) for command, several in
            PHRASES.items()}  # fmt: skip


def phrase_for(command: Command) -> str:
    """The phrase to name to the person, in the language in force."""
    return phrases_of(in_force())[command][0]


def command_for(text: str) -> Command | None:
    """The command whose whole phrase this is, or None: parts of a phrase never match.

    A phrase counts in every language that was learned, English always.
    """
    said = normalise(text)
    for language in learned():
        for command, several in phrases_of(language).items():
            if any(normalise(phrase) == said for phrase in several):
                return command
    return None
