"""Phrases by 28 voices of five makers that nothing was trained on, today's ear and the
classifier alone.

`python -m tests.bench.hearing_wide VOICES [TUBES] [--maker NAME]` prints, for the same clips in the
same run, mean and worst voice, maker by maker, voice by voice and phrase by phrase, with Wilson's
intervals of 95 %. VOICES is the folder `voices` of the npm package kokoro-js, TUBES that of the npm
package @echogarden/gnuspeech-wasm; the other voices need `pip install 'tallyhand[bench,train]'` and
espeak-ng. NAME is one of `MAKERS`: its voices alone are asked.
"""

from __future__ import annotations

import os
import sys
import zlib
from collections import defaultdict
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import cache, lru_cache
from multiprocessing import get_context
from pathlib import Path

import numpy as np

from assistant.engine.engine import expected_commands
from assistant.engine.events import Command
from assistant.engine.phases import Step
from assistant.engine.state import State
from assistant.files.settings import EarSettings
from assistant.hearing.endpointing import Detector, silero
from assistant.hearing.judging import Hearer
from assistant.hearing.recognisers.trained import TrainedEar
from assistant.hearing.training.noises import Maker, grinder, mill
from assistant.hearing.training.phones.parts import FIGURES
from assistant.hearing.training.spoiling import spoil_speech
from assistant.hearing.training.voices import SpeakingManner, phonemes_of, voiced
from assistant.hearing.vocabulary import built_in
from assistant.hearing.waves import Wave, to_pcm
from tests.bench.hearing_voices import more_voices, test_voices
from tests.bench.pinned import pinned

CONDITIONS: tuple[tuple[str, float, Maker], ...] = (
    ("clean", 60.0, mill), ("mill 10 dB", 10.0, mill), ("mill 5 dB", 5.0, mill),
    ("mill 0 dB", 0.0, mill), ("grinder 10 dB", 10.0, grinder),
)  # fmt: skip
EARS = ("trained", "trained and phones")
MAKERS = ("kokoro", "pico", "vits", "espeak-ng", "tubes")
CHOSE_THE_RULES = "vits"
"""Its one voice was among those that chose the rules of decisions 762 and 765, so its figures are
told beside those of the others and not among them."""


@dataclass(frozen=True, slots=True)
class Clip:
    """A phrase as a voice says it."""

    voice: str
    phrase: str
    sound: Wave


@dataclass(frozen=True, slots=True)
class Verdict:
    """What one ear made of a clip in a condition; `after_s` where the phrase was taken."""

    ear: str
    condition: str
    voice: str
    phrase: str
    taken: bool
    wrong: bool
    after_s: float


def clips(folder: Path, tubes: Path | None = None, only: str = "") -> Iterator[Clip]:
    """Each phrase once by each voice; by those of one maker where `only` names it."""
    for name in sorted(FIGURES) if only in ("", "kokoro") else ():
        style = np.fromfile(folder / f"{name}.bin", "<f4").reshape(-1, 256)
        for phrase in sorted(built_in()):
            rng = np.random.default_rng(zlib.crc32(f"{name}|{phrase}".encode()))
            spoken = str(phonemes_of(name[0] == "b")(f"{phrase}."))
            sound = voiced(spoken, [(1.0, style)], float(rng.uniform(0.85, 1.25)))
            yield Clip(name, phrase, sound)
    for voice in test_voices():
        if only in ("", voice.synthesiser):
            for phrase in sorted(built_in()):
                yield Clip(voice.name, phrase, voice.say(phrase, SpeakingManner(1.0, 0.5, 1)))
    for voice in more_voices(tubes):
        for phrase in sorted(built_in()) if only in ("", voice.synthesiser) else ():
            rng = np.random.default_rng(zlib.crc32(f"{voice.name}|{phrase}".encode()))
            pace, pitch = float(rng.uniform(0.85, 1.2)), float(rng.uniform(0.2, 0.8))
            yield Clip(voice.name, phrase, voice.say(phrase, SpeakingManner(pace, pitch, 1)))


def maker(voice: str) -> str:
    """Who made a voice: its name says so, but for the speakers of the neural synthesiser."""
    return voice.partition("/")[0] if "/" in voice else "kokoro"


@cache
def steps() -> dict[Command, frozenset[Command]]:
    """For each answer the narrowest step in which it makes sense."""
    found: dict[Command, frozenset[Command]] = {}
    for step in Step:
        wanted = expected_commands(State(step=step))
        for command in wanted or ():
            if command not in found or len(wanted) < len(found[command]):
                found[command] = wanted
    return found


@lru_cache(maxsize=2)
def ear_named(name: str) -> TrainedEar:
    ear = TrainedEar()
    if name == EARS[0]:
        ear._fits = None  # the ear as it was before the phones
    return ear


def judged(clip: Clip) -> list[Verdict]:
    """By both ears, in every condition; the same noise for both."""
    found: list[Verdict] = []
    for name, ratio, maker in CONDITIONS:
        seed = zlib.crc32(f"{clip.voice}|{clip.phrase}|{name}".encode())
        made = spoil_speech(np.random.default_rng(seed), clip.sound, ratio, (maker,), near=True)
        found += [_by(which, name, clip, to_pcm(made.sound)) for which in EARS]
    return found


def _by(which: str, condition: str, clip: Clip, pcm: bytes) -> Verdict:
    wanted = built_in()[clip.phrase]
    hearer = Hearer(ear_named(which), Detector(silero()), EarSettings(kind="trained"))
    hearer.expected = steps().get(wanted)
    heard = [each for at in range(0, len(pcm), 640) for each in hearer.feed(pcm[at : at + 640])]
    taken = [each for each in [*heard, *hearer.finish()] if each.accepted]
    right = [each.answered_after_s for each in taken if each.command is wanted]
    wrong = any(each.command is not wanted for each in taken)
    after = right[0] if right else 0.0
    return Verdict(which, condition, clip.voice, clip.phrase, bool(right), wrong, after)


def interval(count: int, of: int) -> tuple[float, float]:
    """Percent, 95 in 100 (Wilson, 1927)."""
    z, share = 1.96, count / of
    middle = share + z * z / (2 * of)
    half = z * (share * (1 - share) / of + z * z / (4 * of * of)) ** 0.5
    return tuple(100 * (middle + sign * half) / (1 + z * z / of) for sign in (-1, 1))  # type: ignore[return-value]


def report(all_of_it: Sequence[Verdict]) -> None:
    print("| noise | ear | taken, % (interval) | worst voices | wrong | answer, median / p95 ms |")
    print("|---|---|---|---|---|---|")
    counted = [v for v in all_of_it if maker(v.voice) != CHOSE_THE_RULES] or all_of_it
    for condition, _, _ in CONDITIONS:
        for which in EARS:
            _line(
                condition,
                which,
                [v for v in counted if (v.condition, v.ear) == (condition, which)],
            )
    for key in ("maker", "voice", "phrase"):
        _by_key(key, all_of_it)


def _line(condition: str, which: str, own: list[Verdict]) -> None:
    taken, wrong = sum(v.taken for v in own), sum(v.wrong for v in own)
    low, high = interval(taken, len(own))
    by = _shares(own, "voice")
    worst = ", ".join(
        f"{name} {share:.0f}" for name, share in sorted(by.items(), key=lambda p: p[1])[:3]
    )
    after = [1000 * v.after_s for v in own if v.taken] or [0.0]
    median, late = np.percentile(after, [50, 95])
    share = f"{100 * taken / len(own):.1f} ({low:.1f} to {high:.1f})"
    print(f"| {condition} | {which} | {share} | {worst} "
          f"| {wrong} of {len(own)} | {median:.0f} / {late:.0f} |")  # fmt: skip


def _shares(own: Sequence[Verdict], key: str) -> dict[str, float]:
    by: dict[str, list[bool]] = defaultdict(list)
    for verdict in own:
        by[_key(verdict, key)].append(verdict.taken)
    return {name: 100 * sum(each) / len(each) for name, each in by.items()}


def _key(verdict: Verdict, key: str) -> str:
    return maker(verdict.voice) if key == "maker" else str(getattr(verdict, key))


def _by_key(key: str, all_of_it: Sequence[Verdict]) -> None:
    shown = [name for name, _, _ in CONDITIONS]
    print(f"\n| {key} | " + " | ".join(shown) + " |\n|" + "---|" * (len(shown) + 1))
    tables: dict[tuple[str, str], dict[str, float]] = {
        (condition, which): _shares(
            [v for v in all_of_it if (v.condition, v.ear) == (condition, which)], key
        )
        for condition in shown
        for which in EARS
    }
    for name in sorted({_key(v, key) for v in all_of_it}):
        cells = [" -> ".join(f"{tables[c, which][name]:.0f}" for which in EARS) for c in shown]
        print(f"| {name} | " + " | ".join(cells) + " |")


def main(words: list[str]) -> None:
    only = words.pop() if words[-2:-1] == ["--maker"] else ""
    folder, *tubes = (Path(word) for word in words if word != "--maker")
    if only and only not in MAKERS:
        sys.exit(f"no maker of voices is named {only}; there are {', '.join(MAKERS)}")
    several = list(clips(folder, *tubes, only=only))
    with ProcessPoolExecutor(len(os.sched_getaffinity(0)), get_context("spawn"), pinned) as pool:
        found = [each for made in pool.map(judged, several, chunksize=4) for each in made]
    report(found)


if __name__ == "__main__":
    main(sys.argv[1:])
