"""Whether a phrase that was heard stands clear of everything that sounds nearly like it.

The networks were taught the phrases, and talk that comes near one is easily drawn to it.
"""

from __future__ import annotations

from functools import cache

from assistant.hearing.phones.network import PHONES, Rows
from assistant.hearing.phones.phrase_fit import PRONUNCIATIONS
from assistant.hearing.phones.scoring import Sounds, scores, sounds

CLEAR = {"cut done": 2.5}
"""How much surer, as a logarithm, the sounds of the phrase must be than those of any word with one
phone changed. “Cut done” is the phrase that ordinary talk has in it ("get none", "code and"), and
it moves the job on. Chosen on voices and text that the figures do not count (decision 771)."""

_AS_GOOD = {"ʌ": "əɜʊ"}
"""Another vowel of these is an accent, not another word."""


@cache
def near_misses(phrase: str) -> tuple[Sounds, ...]:
    """The first pronunciation of a phrase of the program with one phone changed, each in turn."""
    spoken, *others = PRONUNCIATIONS[phrase]
    made = {
        spoken[:at] + other + spoken[at + 1 :]
        for at, phone in enumerate(spoken)
        for other in PHONES
        if other not in phone + _AS_GOOD.get(phone, "")
    }
    return tuple(map(sounds, sorted(made - set(others))))


def stands_clear(phrase: str, heard: Rows) -> bool:
    """False where one of the near misses of `phrase` fits what was heard nearly as well."""
    if phrase not in CLEAR:
        return True
    own = tuple(map(sounds, PRONUNCIATIONS[phrase]))
    found = scores(heard, [*own, *near_misses(phrase)])
    return bool(found[: len(own)].max() - found[len(own) :].max() >= CLEAR[phrase])
