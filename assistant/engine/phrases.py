"""The phrases that are listened for: two to four words, unlike each other in sound.

No phrase stands inside another, and a confirmation names the thing confirmed: no bare
"yes" does anything.
"""

from __future__ import annotations

from collections.abc import Mapping

from assistant.engine.asked import COMMANDS, Command, Use, used_as
from assistant.words.language import Language, in_force, learned_languages

LOCK_AND_GUARD = frozenset({Command.LOCKED, Command.GUARDED})
"""What stands between the person and the cutter: heard only when nearly certain."""

PHRASES: Mapping[Command, tuple[str, ...]] = {
    command: (row.phrase, *row.also) for command, row in COMMANDS.items()
}
CONFIRMATIONS = frozenset(used_as(Use.ANSWER))

AWAITING = frozenset(command for command, row in COMMANDS.items() if not row.learned)
"""Have a key and a button: an ear that has not learned their phrases yet lacks nothing needed."""


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
    for language in learned_languages():
        for command, several in phrases_of(language).items():
            if any(normalise(phrase) == said for phrase in several):
                return command
    return None
