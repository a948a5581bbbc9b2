"""What the voices say: the phrases, and everything that must not be taken for one.

The negatives, from near to far: phrases with a word changed for one that sounds like it, the
phrases' own words in another order, parts of phrases, phrases inside longer talk, single
words, ordinary sentences of a shop, answers, news and prose, words drawn from a pronouncing
dictionary, and the program's own announcements.
"""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from functools import cache
from importlib import resources

from assistant.engine.phrases import normalise
from assistant.hearing.training.noises import Random


@cache
def _talk() -> dict[str, list[str]]:
    folder = resources.files("assistant.hearing.training")
    pieces: dict[str, list[str]] = tomllib.loads((folder / "talk.toml").read_text("utf-8"))
    return pieces


def random_sentence(rng: Random) -> str:
    """An ordinary sentence as it is said in a shop, on the radio, or read aloud."""

    def one(kind: str) -> str:
        pieces = _talk()[kind]
        return pieces[rng.integers(len(pieces))]

    told = f"{one('who')} {one('did')} {one('thing')}"
    made: tuple[Callable[[], str], ...] = (
        lambda: one("remarks"),
        lambda: f"{one('question')} {one('thing')}",
        lambda: told,
        lambda: f"{told} {one('when')}",
        lambda: f"{told} and {one('who')} {one('did')} {one('thing')}",
        lambda: one("answers"),
        lambda: f"{one('answers')}, {one('answers')}",
        lambda: one("news"),
        lambda: prose(rng),
        lambda: prose(rng),
    )
    return made[rng.integers(len(made))]()


@cache
def _pronunciations() -> dict[str, tuple[str, ...]]:
    """The general dictionary that comes with PocketSphinx: a word to its phones."""
    folder = resources.files("pocketsphinx") / "model" / "en-us" / "cmudict-en-us.dict"
    found: dict[str, tuple[str, ...]] = {}
    for line in folder.read_text("utf-8").splitlines():
        word, *phones = line.split()
        if word.isalpha() and len(word) > 2:
            found[word] = tuple(phones)
    return found


@cache
def _words() -> tuple[str, ...]:
    return tuple(sorted(_pronunciations()))


def prose(rng: Random) -> str:
    """The rhythm of written prose: small words between words of every kind. It means nothing."""
    joining = _talk()["joining"]
    said: list[str] = []
    for _ in range(rng.integers(2, 7)):
        said += [joining[rng.integers(len(joining))], _words()[rng.integers(len(_words()))]]
    return " ".join(said)


def random_words(rng: Random) -> str:
    """One to five words drawn from the dictionary: sounds of every kind."""
    return " ".join(_words()[i] for i in rng.integers(0, len(_words()), rng.integers(1, 6)))


@cache
def sound_alikes(word: str) -> tuple[str, ...]:
    """Words one or two phones away. One phone only where that phone is a vowel: consonants
    that differ alone ("guard", "card") are not told apart at ten decibels, and refusing them
    would cost the phrase itself."""
    own = _pronunciations().get(word)
    if own is None:
        return ()
    near = [w for w, p in _pronunciations().items() if p != own and _differs(own, p)]
    return tuple(sorted(near))


def _differs(own: tuple[str, ...], other: tuple[str, ...]) -> bool:
    if len(own) != len(other):
        return len(own) > 3 and abs(len(own) - len(other)) == 1 and own[:2] == other[:2]
    changed = [(a, b) for a, b in zip(own, other, strict=True) if a != b]
    vowels = all(a[0] in "AEIOU" and b[0] in "AEIOU" for a, b in changed)
    return len(changed) == (1 if vowels else 2)


def near_miss(rng: Random, phrases: list[str]) -> str:
    """A short phrase that is nearly one of ours, and none."""
    makers: tuple[Callable[[Random, list[str]], str], ...] = (
        _word_changed,
        _word_changed,
        _other_order,
        _part,
        _crossed,
        _inside_talk,
    )
    for _ in range(50):
        made = makers[rng.integers(len(makers))](rng, phrases)
        if made and normalise(made) not in phrases:
            return made
    return random_sentence(rng)


def _split(rng: Random, phrases: list[str]) -> list[str]:
    return phrases[rng.integers(len(phrases))].split()


_SLURRED = frozenset(("the", "a", "is", "i", "am", "on", "my", "at", "and", "so", "me", "of", "to"))
"""Words said so slightly that a change in them is not heard."""


def single_words(rng: Random, count: int, phrases: list[str]) -> list[str]:
    """`count` different words by themselves: half from the phrases, half what people say alone.
    A part of a phrase must do nothing, nor must an "okay"."""
    own = sorted({word for phrase in phrases if " " in phrase for word in phrase.split()})
    common = [word for word in _talk()["words"] if word not in own]
    made = [own[i] for i in rng.permutation(len(own))[: count // 2]]
    made += [common[i] for i in rng.permutation(len(common))[: count - len(made)]]
    return [word for word in made if normalise(word) not in phrases]


def _word_changed(rng: Random, phrases: list[str]) -> str:
    words = _split(rng, phrases)
    at = rng.integers(len(words))
    near = () if words[at] in _SLURRED else sound_alikes(words[at])
    if not near:
        return ""
    words[at] = near[rng.integers(len(near))]
    return " ".join(words)


def _other_order(rng: Random, phrases: list[str]) -> str:
    words = _split(rng, phrases) + _split(rng, phrases)
    picked = rng.permutation(len(words))[: rng.integers(2, 5)]
    return " ".join(words[i] for i in picked)


def _part(rng: Random, phrases: list[str]) -> str:
    words = _split(rng, phrases)
    cut = rng.integers(1, len(words))
    return " ".join(words[:cut] if rng.random() < 0.5 else words[cut:])


def _crossed(rng: Random, phrases: list[str]) -> str:
    first, second = _split(rng, phrases), _split(rng, phrases)
    return " ".join(first[: (len(first) + 1) // 2] + second[len(second) // 2 :])


def _inside_talk(rng: Random, phrases: list[str]) -> str:
    phrase = " ".join(_split(rng, phrases))
    before = ("is the", "he said", "not", "I think", "when the", "was it")[rng.integers(6)]
    after = ("or not", "by him", "yesterday", "I hope", "for a while", "and then")[rng.integers(6)]
    return (f"{before} {phrase}", f"{phrase} {after}", f"{before} {phrase} {after}")[
        rng.integers(3)
    ]


@cache
def announcements(phrases: tuple[str, ...]) -> list[str]:
    """What the program itself says, sentence by sentence, without the sentences that quote a
    phrase. Kept in a file, so that a changed wording does not change the training."""
    text = (resources.files("assistant.hearing.training") / "announced.txt").read_text("utf-8")
    return [s for s in text.splitlines() if not any(p in normalise(s) for p in phrases)]


def negatives(rng: Random, count: int, phrases: list[str]) -> list[str]:
    """`count` sentences of all kinds, less any that is a phrase."""
    own = announcements(tuple(phrases))
    long_enough = [phrase for phrase in phrases if " " in phrase]
    made: list[str] = []
    while len(made) < count:
        pick = rng.random()
        if pick < 0.4 and long_enough:
            made.append(near_miss(rng, long_enough))
        elif pick < 0.8:
            made.append(random_sentence(rng))
        elif pick < 0.92:
            made.append(random_words(rng))
        else:
            made.append(own[rng.integers(len(own))])
    return [m for m in made if normalise(m) not in phrases]
