"""A size in one breath: the best way through a grammar of number words, over the phones heard.

Nothing is cut into single words. What comes out is weighed against what else could have been
said, a word put for another, and is given only when it stands clear of that.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from assistant.hearing.phones.network import BLANK, Rows
from assistant.hearing.phones.scoring import Sounds, free_score, scores, sounds
from assistant.hearing.spoken_numbers import DIGITS, SIGNS, UNITS

PRONUNCIATIONS: dict[str, tuple[str, ...]] = {
    "zero": ("zɪəɹO", "zɪɹO"), "oh": ("O",), "nought": ("nɔt",), "one": ("wʌn",), "two": ("tu",),
    "three": ("θɹi",), "four": ("fɔ", "fɔɹ"), "five": ("fIv",), "six": ("sɪks",),
    "seven": ("sɛvən",), "eight": ("At",), "nine": ("nIn",), "ten": ("tɛn",),
    "eleven": ("əlɛvən", "ɪlɛvən"), "twelve": ("twɛlv",), "thirteen": ("θɜtin", "θɜɹtin"),
    "fourteen": ("fɔtin", "fɔɹtin"), "fifteen": ("fɪftin",), "sixteen": ("sɪkstin",),
    "seventeen": ("sɛvəntin", "sɛvntin"), "eighteen": ("Atin",), "nineteen": ("nIntin",),
    "twenty": ("twɛnti", "twɛndi", "twɛni"), "thirty": ("θɜti", "θɜdi", "θɜɹti"),
    "forty": ("fɔti", "fɔdi", "fɔɹti"), "fifty": ("fɪfti",), "sixty": ("sɪksti",),
    "seventy": ("sɛvənti", "sɛvəndi", "sɛvnti", "sɛvndi"), "eighty": ("Ati", "Adi"),
    "ninety": ("nInti", "nIndi"), "point": ("pYnt",), "hundred": ("hʌndɹəd",),
    "and": ("ənd", "ən", "ænd", "æn"), "thou": ("θW", "ðW"), "inch": ("ɪnʧ",),
    "inches": ("ɪnʧɪz",), "millimetre": ("mɪləmitəɹ", "mɪlɪmitə"),
    "millimetres": ("mɪləmitəɹz", "mɪlɪmitəz"), "degree": ("dɪɡɹi", "dəɡɹi"),
    "degrees": ("dɪɡɹiz", "dəɡɹiz"), "minus": ("mInəs", "mInɪs"), "under": ("ʌndəɹ", "ʌndə"),
}  # fmt: skip
"""American and British, in the letters of the network's phones."""

_ONES = tuple(word for word, value in DIGITS.items() if value)
_TEENS = ("ten", "eleven", "twelve", "thirteen", "fourteen", "fifteen", "sixteen", "seventeen",
          "eighteen", "nineteen")  # fmt: skip
_TENS = ("twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety")
_UNITS = ("thou", "inch", "inches", "millimetre", "millimetres", "degree", "degrees")
_FIGURES = tuple(DIGITS)
_WHOLE = ("figure", "two figures", "three figures", "four figures", "ten", "low", "hundred",
          "hundred and low", "hundred and ten")  # fmt: skip
_PLACES = ("place 1", "place 2", "place 3", "place 4")

_GRAMMAR: tuple[tuple[str, tuple[str, ...], str], ...] = (
    ("start", _FIGURES, "figure"), ("start", _TEENS, "low"), ("start", _TENS, "ten"),
    ("start", ("point",), "point"), ("figure", _FIGURES, "two figures"),
    ("two figures", _FIGURES, "three figures"), ("three figures", _FIGURES, "four figures"),
    ("ten", _ONES, "low"),
    *((whole, ("hundred",), "hundred") for whole in ("figure", "low", "ten")),
    ("hundred", ("and",), "and"),
    *((at, (*_ONES, *_TEENS), "hundred and low") for at in ("hundred", "and")),
    *((at, _TENS, "hundred and ten") for at in ("hundred", "and")),
    ("hundred and ten", _ONES, "hundred and low"),
    *((whole, ("point",), "point") for whole in _WHOLE),
    *((at, _FIGURES, to) for at, to in zip(("point", *_PLACES), _PLACES, strict=False)),
    *((at, _UNITS, "unit") for at in (*_WHOLE, *_PLACES)),
)  # fmt: skip
_SIGNED = (
    ("start", SIGNS, "signed"),
    *(("signed", words, to) for begin, words, to in _GRAMMAR if begin == "start"),
)
"""More of the grammar where a figure may lie below nought: a reading, never a size."""

_ENDS = (*_WHOLE, *_PLACES, "unit")

WORD_COSTS = 1.0
"""What each further word must be worth: less, and clatter turns into figures."""

CLEAR = 4.0
"""So much likelier, as a logarithm, than the next best a size must be. Chosen on voices that the
figures do not count, so that under two in a hundred were read back wrong."""

FIGURE_CLEAR = 3.0
"""The same for a single figure or "point": next to it stand fewer, and the classifier was asked,
too."""

FITS = -0.6
"""So little worse than any phones at all, as a logarithm for each phone, a size may be."""

LEAST_WORD_S = 0.09
"""No number word is said in less; four figures in a quarter of a second are noise."""

Numbers = npt.NDArray[np.int64]


@dataclass(frozen=True)
class _Net:
    """The grammar spread out: a place for each state (its pauses), then one for each phone and
    each blank between phones, word by word."""

    label: Numbers
    before: Numbers  # the place one step back, -1 where there is none
    skipped: Numbers  # the place two steps back, where the blank between may be left out
    first: Numbers  # the first phone's place of each word
    begins: Numbers  # the state that it begins in
    last: Numbers
    ends: Numbers
    words: tuple[str, ...]
    states: tuple[str, ...]


@lru_cache(maxsize=2)
def _net(signed: bool) -> _Net:
    grammar = (*_GRAMMAR, *_SIGNED) if signed else _GRAMMAR
    states = tuple(dict.fromkeys(name for arc in grammar for name in (arc[0], arc[2])))
    label, before, skipped = [BLANK] * len(states), [-1] * len(states), [-1] * len(states)
    first, begins, last, ends, words = [], [], [], [], []
    for begin, several, end in grammar:
        for word, spoken in ((w, sounds(p)) for w in several for p in PRONUNCIATIONS[w]):
            first.append(len(label))
            for n, phone in enumerate(spoken):
                if n:
                    label.append(BLANK)
                    before.append(len(label) - 2)
                    skipped.append(-1)
                label.append(phone)
                before.append(len(label) - 2 if n else -1)
                skipped.append(len(label) - 3 if n and phone != spoken[n - 1] else -1)
            last.append(len(label) - 1)
            begins.append(states.index(begin))
            ends.append(states.index(end))
            words.append(word)
    return _Net(
        np.array(label),
        np.array(before),
        np.array(skipped),
        np.array(first),
        np.array(begins),
        np.array(last),
        np.array(ends),
        tuple(words),
        states,
    )


def best_words(heard: Rows, *, signed: bool = False) -> tuple[str, ...]:
    """The likeliest number words for the phones heard; none where no number fits in at all.
    `signed`: it may lie below nought."""
    net, never = _net(signed), -1e9
    count = len(net.states)
    score = np.full(len(net.label), never)
    told = np.zeros(len(net.label), np.int64)  # which entry of `path` led there
    path: list[tuple[int, int]] = [(-1, 0)]  # a word, and the entry before it
    at_state, path_of = np.full(count, never), np.zeros(count, np.int64)
    at_state[net.states.index("start")] = 0.0
    for frame in heard.astype(np.float64):
        coming = np.full((5, len(net.label)), never)
        leads = np.zeros((5, len(net.label)), np.int64)
        coming[0], leads[0] = score, told
        for row, back in ((1, net.before), (2, net.skipped)):
            coming[row] = np.where(back < 0, never, score[back])
            leads[row] = told[back]
        coming[3, net.first] = at_state[net.begins] - WORD_COSTS
        leads[3, net.first] = path_of[net.begins]
        coming[4, :count], leads[4, :count] = at_state, path_of
        chosen, places = coming.argmax(axis=0), np.arange(len(net.label))
        score, told = coming[chosen, places] + frame[net.label], leads[chosen, places]
        at_state, path_of = score[:count].copy(), told[:count].copy()
        _end_words(net, score, told, at_state, path_of, path)
    finals = [net.states.index(name) for name in _ENDS]
    best = max(finals, key=lambda state: float(at_state[state]))
    return _read(net, path, int(path_of[best])) if at_state[best] > never / 2 else ()


def _end_words(
    net: _Net,
    score: npt.NDArray[np.float64],
    told: Numbers,
    at_state: npt.NDArray[np.float64],
    path_of: Numbers,
    path: list[tuple[int, int]],
) -> None:
    """The words that may be over with this frame, the best for each state."""
    said = score[net.last]
    for state in np.unique(net.ends):
        own = np.flatnonzero(net.ends == state)
        word = own[said[own].argmax()]
        if said[word] > at_state[state]:
            at_state[state] = said[word]
            path.append((int(word), int(told[net.last[word]])))
            path_of[state] = len(path) - 1


def _read(net: _Net, path: list[tuple[int, int]], at: int) -> tuple[str, ...]:
    found: list[str] = []
    while at:
        word, at = path[at]
        found.append(net.words[word])
    return tuple(reversed(found))


@dataclass(frozen=True, slots=True)
class Weighed:
    """`clear`: how much likelier than the next best, as a logarithm; `fits`: how near the free path
    of phones, a phone, 0 or less."""

    words: tuple[str, ...]
    clear: float
    fits: float


def weighed(heard: Rows, *, signed: bool = False) -> Weighed | None:
    """The best size and how sure it is; None where there is none."""
    words = best_words(heard, signed=signed) if len(heard) else ()
    if not words:
        return None
    others = list(dict.fromkeys([*_others(words), *(_with_sign(words) if signed else ())]))
    several = [words, *others]
    spoken = [(n, each) for n, said in enumerate(several) for each in _ways(said)]
    made = scores(heard, [each for _, each in spoken])
    best = np.full(len(several), -1e9)
    for (n, _), score in zip(spoken, made, strict=True):
        best[n] = max(best[n], score)
    lengths = [len(each) for n, each in spoken if n == 0]
    next_best = float(best[1:].max()) if len(best) > 1 else -1e9
    return Weighed(words, float(best[0]) - next_best, (best[0] - free_score(heard)) / max(lengths))


def _kinds() -> tuple[tuple[str, ...], ...]:
    return (_FIGURES, (*_TEENS, *_TENS, *_ONES), _UNITS)


def _others(words: tuple[str, ...]) -> Iterator[tuple[str, ...]]:
    """What else may have been said: a word for another of its kind, one less or one more."""
    for n, word in enumerate(words):
        for kind in _kinds():
            if word in kind:
                for other in kind:
                    if _worth(other) != _worth(word):
                        yield (*words[:n], other, *words[n + 1 :])
        if word in DIGITS and len(words) > 1:
            yield (*words[:n], *words[n + 1 :])
            for other in ("oh", *_ONES):
                yield (*words[:n], word, other, *words[n + 1 :])
    yield ("oh", *words)


def _with_sign(words: tuple[str, ...]) -> Iterator[tuple[str, ...]]:
    """The same on the other side of nought: a sign lost would be twice the figure off."""
    if words[0] in SIGNS:
        yield words[1:]
    else:
        yield from ((sign, *words) for sign in SIGNS)


def _worth(word: str) -> str:
    """ "oh" is "zero", "inches" are "inch": no other size."""
    return str(DIGITS[word]) if word in DIGITS else UNITS.get(word, word)


_MOST_WAYS = 6


def _ways(words: tuple[str, ...]) -> list[Sounds]:
    """Some ways to pronounce the words: all American or all British, and each first one."""
    depth = max((len(PRONUNCIATIONS[word]) for word in words), default=1)
    found = []
    for n in range(min(depth, _MOST_WAYS)):
        each = [PRONUNCIATIONS[word][min(n, len(PRONUNCIATIONS[word]) - 1)] for word in words]
        found.append(sounds("".join(each)))
    return list(dict.fromkeys(found))


def sure(found: Weighed, seconds: float) -> bool:
    """True when a size may be read back; `seconds` is how long the voice was heard."""
    long_enough = seconds >= LEAST_WORD_S * len(found.words)
    clear = CLEAR if len(found.words) > 1 else FIGURE_CLEAR
    return long_enough and found.clear >= clear and found.fits >= FITS


def row_of_figures(words: tuple[str, ...]) -> bool:
    """True for "eight four": hardly a size in one breath, but "point four" is taken for it."""
    return len(words) > 1 and all(word in DIGITS for word in words)
