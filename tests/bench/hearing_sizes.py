"""Spoken sizes through the chain of the bench, by voices that were never trained on.

`python -m tests.bench.hearing_sizes [SIZES [NOISE...]] [--readings]` prints one table; with
`--readings` of what an indicator shows, half of it below nought. A person gives a size;
what was heard is read back; where it is wrong, or was not understood, it is given once more,
figure by figure with a pause after each. The voices need `pip install 'tallyhand[bench,train]'`.
"""

from __future__ import annotations

import platform
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from assistant.engine.engine import expected_commands
from assistant.engine.phases import Step
from assistant.engine.state import State
from assistant.files.settings import EarSettings
from assistant.hearing.endpointing import Detector, silero
from assistant.hearing.judging import Hearer
from assistant.hearing.recognisers.numbers import NumberEar
from assistant.hearing.recognisers.trained import TrainedEar
from assistant.hearing.spoken_numbers import number_from
from assistant.hearing.spoken_sizes import OVER_S, SpokenSizes
from assistant.hearing.training.noises import Maker, mill, shop
from assistant.hearing.training.voices import Speaker, SpeakingManner
from assistant.hearing.waves import RATE, Wave, mix, to_pcm
from tests.bench.hearing_voices import test_voices

CONDITIONS: tuple[tuple[str, float, Maker | None], ...] = (
    ("clean", 60.0, None),
    ("mill", 10.0, mill),
    ("shop", 10.0, shop),
)
_DIGITS = ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
_TEENS = ("ten", "eleven", "twelve", "thirteen", "fourteen", "fifteen", "sixteen", "seventeen",
          "eighteen", "nineteen")  # fmt: skip
_TENS = ("twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety")
PAUSE_S = 0.5
EDGE_S = 0.8


@dataclass
class Score:
    """What became of so many sizes."""

    asked: int = 0
    right: int = 0  # at the first try
    wrong: int = 0  # read back wrong at the first try
    after: int = 0  # right in the end, said once more where it was not
    kept_wrong: int = 0  # the second try read back wrong, too


def readings(count: int, seed: int = 31) -> list[str]:
    """What an indicator shows, every second one below nought: whole lines of its dial, and parts
    of a millimetre."""
    rng = np.random.default_rng(seed)

    def pick(several: tuple[str, ...]) -> str:
        return several[rng.integers(len(several))]

    amounts: tuple[Callable[[], str], ...] = (
        lambda: pick(_DIGITS[1:]),
        lambda: f"point zero {pick(_DIGITS[1:])}",
        lambda: pick(_TEENS),
        lambda: f"{pick(_DIGITS[1:])} point {pick(_DIGITS[1:])}",
        lambda: f"{pick(_TENS)} {pick(_DIGITS[1:])}",
    )
    signs = ("", "minus ", "", "under ")
    return [f"{signs[n % 4]}{amounts[n % 5]()}" for n in range(count)]


def sizes(count: int, seed: int = 31) -> list[str]:
    """As they are said: read as numbers, figure by figure, and in thou."""
    rng = np.random.default_rng(seed)

    def pick(several: tuple[str, ...]) -> str:
        return several[rng.integers(len(several))]

    def low() -> str:
        kind = rng.integers(3)
        return (pick(_DIGITS[1:]), pick(_TEENS), f"{pick(_TENS)} {pick(_DIGITS[1:])}")[kind]

    def places() -> str:
        return " ".join(pick(("oh", *_DIGITS[1:])) for _ in range(rng.integers(1, 4)))

    forms: tuple[Callable[[], str], ...] = (
        lambda: f"{low()} point {places()}",
        lambda: f"{pick(_DIGITS[1:])} {pick(_DIGITS)} point {places()}",
        lambda: f"point {places()}",
        lambda: f"{pick(_DIGITS[1:])} hundred and {low()} thou",
        lambda: f"{low()} point {pick(_DIGITS)} millimetres",
    )
    return [forms[n % len(forms)]() for n in range(count)]


def figures(said: str) -> list[str]:
    """The same size figure by figure: "one", "nine", "point", "zero", "five"."""
    number = number_from(said)
    assert number is not None
    value = number.value if number.unit != "thou" else number.value / 1000
    text = f"{float(value):.4f}".rstrip("0").rstrip(".")
    return ["point" if sign == "." else _DIGITS[int(sign)] for sign in text]


def spoken(voice: Speaker, words: list[str], seed: int) -> Wave:
    """The pieces, with a pause after each."""
    rng = np.random.default_rng(seed)
    manner = SpeakingManner(0.9 + 0.2 * rng.random(), rng.random(), seed)
    pause = np.zeros(round(PAUSE_S * RATE), np.float32)
    pieces = [piece for word in words for piece in (voice.say(word, manner), pause)]
    edge = np.zeros(round(EDGE_S * RATE), np.float32)
    return np.concatenate([edge, *pieces[:-1], edge])


def heard(ear: TrainedEar, ears: SpokenSizes, sound: Wave) -> Fraction | None:
    """The size that the chain reads back, in the unit that was said; None for none."""
    hearer = Hearer(ear, Detector(silero()), EarSettings(kind="trained"))
    hearer.expected = expected_commands(State(step=Step.MEASURE))
    ears.wanted = True
    pcm = to_pcm(sound) + bytes(round((OVER_S + 0.5) * RATE) * 2)
    for at in range(0, len(pcm), 640):
        for each in hearer.feed(pcm[at : at + 640]):
            ears.hear(each)
        given = ears.over(hearer.now_s, speaking=hearer.speaking)
        if given is not None:
            unit = Fraction(1, 1000) if given.unit == "thou" else 1
            return None if given.size.startswith("?") else Fraction(given.size) * unit
    return None


def noisy(sound: Wave, ratio: float, kind: Maker | None, seed: int) -> Wave:
    rng = np.random.default_rng([12, seed])
    noise = kind(rng, len(sound)) if kind else rng.standard_normal(len(sound)).astype(np.float32)
    made = mix(sound, noise, ratio)
    return np.asarray(made * np.float32(0.2 / max(np.abs(made).max(), 1e-6)), np.float32)


def score(
    ear: TrainedEar, voice: Speaker, said: list[str], condition: int, ears: SpokenSizes
) -> Score:
    """A reading can't be said figure by figure with its sign: it is said the same way again."""
    _, ratio, kind = CONDITIONS[condition]
    found = Score()
    for seed, text in enumerate(said):
        number = number_from(text)
        assert number is not None
        wanted = number.value * (Fraction(1, 1000) if number.unit == "thou" else 1)
        first = heard(ear, ears, noisy(spoken(voice, [text], seed), ratio, kind, seed))
        found.asked += 1
        found.right += first == wanted
        found.wrong += first not in (wanted, None)
        second = first
        if first != wanted:
            words = [text] if number.value < 0 else figures(text)
            again = spoken(voice, words, seed + 1000)
            second = heard(ear, ears, noisy(again, ratio, kind, seed + 1000))
        found.after += second == wanted
        found.kept_wrong += second not in (wanted, None)
    return found


def main(words: list[str]) -> None:
    shown = "--readings" in words
    words = [word for word in words if word != "--readings"]
    count = int(words[0]) if words else 40
    voices, said = test_voices(), (readings if shown else sizes)(count)
    began = time.monotonic()
    print(
        "| voice | noise | right at once | read back wrong | right after once more | still wrong |"
    )
    print("|---|---|---|---|---|---|", flush=True)
    ear = TrainedEar()
    ears = SpokenSizes(NumberEar(signed=True), reading=True) if shown else SpokenSizes()
    for n, (name, ratio, kind) in enumerate(CONDITIONS):
        if words[1:] and name not in words[1:]:
            continue
        total = Score()
        for voice in voices:
            one = score(ear, voice, said, n, ears)
            for field in vars(total):
                setattr(total, field, getattr(total, field) + getattr(one, field))
            _row(voice.name, name, ratio, kind, one)
        _row("all", name, ratio, kind, total)
    print(f"\n{count} sizes a voice; {platform.machine()}, {time.monotonic() - began:.0f} s.")


def _row(voice: str, name: str, ratio: float, kind: Maker | None, found: Score) -> None:
    noise = f"{name} {ratio:g} dB" if kind else name
    shares = (found.right, found.wrong, found.after, found.kept_wrong)
    cells = " | ".join(f"{100 * share / found.asked:.0f} %" for share in shares)
    print(f"| {voice} | {noise} | {cells} |", flush=True)


if __name__ == "__main__":
    main(sys.argv[1:])
