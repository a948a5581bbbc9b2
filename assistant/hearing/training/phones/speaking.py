"""The synthetic part of what the phone network hears: a plan from a seed, spoken on all cores."""

from __future__ import annotations

import multiprocessing
import os
from collections.abc import Callable, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np

from assistant.errors import Refusal
from assistant.hearing.phones.scoring import Sounds
from assistant.hearing.training.noises import Random
from assistant.hearing.training.phones.parts import trained
from assistant.hearing.training.phones.takes import Take, load_takes, samples, save_takes
from assistant.hearing.training.phones.texts import (
    Text,
    any_of,
    random_text,
    short_text,
    sounds_of,
)
from assistant.hearing.training.voices import (
    FLITE,
    SpeakingManner,
    espeak_voice,
    flite_voice,
    phonemes_of,
    voiced,
)

TEXTS_SEED = 11
_ACCENTS = ("en-us", "en-gb", "en-gb", "en-gb-x-rp", "en-gb-x-rp", "en-gb-scotland", "en-us-nyc",
            "en-gb-x-gbclan", "en-gb-x-gbcwmd")  # fmt: skip
_VARIANTS = ("m1", "m2", "m3", "m4", "m5", "m6", "m7", "f1", "f2", "f3", "f4", "f5")
_MORE_SEED = 21
_MORE_VARIANTS = (*_VARIANTS, "klatt", "klatt2", "klatt3", "klatt4", "croak", "grandma", "grandpa",
                  "adam", "steph", "belinda", "robert", "aunty")  # fmt: skip
_SHARD = 250  # takes in a file: what a broken-off run loses at most

Styles = tuple[tuple[str, float], ...]


@dataclass(frozen=True, slots=True)
class VoicedText:
    """One text and who says it: `blend` of speakers by name with their shares, `accent` of
    espeak-ng, or a voice of `flite`."""

    text: Text
    british: bool
    pace: float
    blend: Styles = ()
    accent: str = ""
    pitch: float = 0.5
    flite: str = ""
    usual_thou: bool = False  # as in "thousand", where the voice says "thou" as in "that"


@dataclass(frozen=True, slots=True)
class Counts:
    """How many takes by each synthesiser."""

    kokoro: int = 24_000
    espeak: int = 2600
    flite: int = 1500
    more: int = 12_000  # by the neural speakers: short ones and numbers
    more_espeak: int = 2500


def voice_plan(
    speakers: Sequence[str], phrases: Sequence[str], strict: Sequence[str], counts: Counts
) -> list[VoicedText]:
    """The same for the same names and counts. `speakers` by the set's names: a first letter "a" is
    American, "b" British, any other has both. Raises Refusal where there is no speaker."""
    rng = np.random.default_rng(TEXTS_SEED)
    chosen = trained(speakers)
    if not chosen and counts.kokoro:
        raise Refusal(
            "no speaker to train on", "name the folder `voices` of the npm package kokoro-js", ": "
        )
    lines = []
    for _ in range(counts.kokoro):
        said = random_text(rng, phrases, strict)
        blend, british = _blend(rng, chosen)
        pace = float(rng.uniform(0.8, 1.3))
        lines.append(VoicedText(said, british, pace, blend, usual_thou=bool(rng.random() < 0.7)))
    for _ in range(counts.espeak):
        said, accent = random_text(rng, phrases, strict), any_of(rng, _ACCENTS)
        voice, pace = f"{accent}+{any_of(rng, _VARIANTS)}", float(rng.uniform(0.8, 1.3))
        pitch, usual = float(rng.random()), bool(rng.random() < 0.7)
        lines.append(VoicedText(said, "gb" in accent, pace, (), voice, pitch, "", usual))
    for _ in range(counts.flite):
        said, pace = random_text(rng, phrases, strict), float(rng.uniform(0.8, 1.3))
        lines.append(VoicedText(said, False, pace, flite=any_of(rng, FLITE)))
    return lines + more(chosen, phrases, counts)


def more(chosen: list[str], phrases: Sequence[str], counts: Counts) -> list[VoicedText]:
    """Texts of what a person's own phrases are like, and numbers; in more of espeak-ng's throats
    than before, none of which the benchmark hears."""
    rng = np.random.default_rng(_MORE_SEED)
    lines = []
    for _ in range(counts.more if chosen else 0):
        said, (blend, british) = short_text(rng, phrases), _blend(rng, chosen)
        lines.append(VoicedText(said, british, float(rng.uniform(0.75, 1.35)), blend))
    for _ in range(counts.more_espeak):
        said, accent = short_text(rng, phrases), any_of(rng, _ACCENTS)
        voice, pace = f"{accent}+{any_of(rng, _MORE_VARIANTS)}", float(rng.uniform(0.75, 1.3))
        lines.append(
            VoicedText(said, "gb" in accent, pace, (), voice, float(rng.random()), usual_thou=True)
        )
    return lines


def _blend(rng: Random, speakers: list[str]) -> tuple[Styles, bool]:
    """45 in a hundred British, 40 American; four in ten one speaker alone."""
    british = [name for name in speakers if name[0] == "b"] or speakers
    american = [name for name in speakers if name[0] == "a"] or speakers
    foreign = [name for name in speakers if name[0] not in "ab"] or speakers
    kind = rng.random()
    if kind < 0.45:
        home, as_british = british, True
    elif kind < 0.85:
        home, as_british = american, False
    else:
        home, as_british = foreign, bool(rng.random() < 0.5)
    if rng.random() < 0.4:
        return ((any_of(rng, home), 1.0),), as_british
    count = int(rng.integers(1, 4))
    own = [any_of(rng, home) for _ in range(count)]
    other = [any_of(rng, speakers)] if count == 1 or rng.random() < 0.4 else []
    all_own = float(rng.uniform(0.55, 0.85)) if other else 1.0
    shares = [float(share) * all_own for share in rng.dirichlet([1.0] * count)]
    return (*zip(own, shares, strict=True), *((name, 1 - all_own) for name in other)), as_british


def spoken_takes(
    lines: Sequence[VoicedText], voices: Path, cache_folder: Path, tell: Callable[[str], None]
) -> list[Take]:
    """Says the lines, on all cores, or reads what an earlier run said. `voices` has a file
    NAME.bin for each speaker."""
    cache_folder.mkdir(parents=True, exist_ok=True)
    parts = [lines[at : at + _SHARD] for at in range(0, len(lines), _SHARD)]
    files = [cache_folder / f"spoken-{n}.npz" for n in range(len(parts))]
    left = [(part, voices, f) for part, f in zip(parts, files, strict=True) if not f.exists()]
    if left:
        context = multiprocessing.get_context("spawn")
        with ProcessPoolExecutor(min(len(left), os.cpu_count() or 1), context) as pool:
            for done, _ in enumerate(pool.map(_speak, left), 1):
                tell(f"{done} of {len(left)} parts spoken")
    return [take for file in files for take in load_takes(file)]


def _speak(given: tuple[Sequence[VoicedText], Path, Path]) -> None:
    lines, voices, file = given
    made = [take for line in lines if (take := speak_line(line, voices)) is not None]
    if not made:
        raise Refusal(
            f"{file.name}: no voice gave any sound", "install 'tallyhand[train]', espeak-ng"
        )
    save_takes(made, file)


def speak_line(line: VoicedText, voices: Path) -> Take | None:
    """One take; None where the voice gave nothing that is of use."""
    spoken = _phonemes(line)
    manner = SpeakingManner(line.pace, line.pitch, 0)
    if line.accent:
        sound, source = espeak_voice(line.accent).say(line.text.words, manner), "espeak-ng"
    elif line.flite:
        sound, source = flite_voice(line.flite).say(line.text.words, manner), "flite"
    else:
        style = [(share, _speaker(voices / f"{name}.bin")) for name, share in line.blend]
        sound, source = voiced(spoken, style, line.pace), "kokoro"
    cut = samples(sound)
    if cut is None:
        return None
    return Take(cut, sounds_of(spoken), line.text.kind, source, line.text.phrase)


def _phonemes(line: VoicedText) -> str:
    spoken = str(phonemes_of(line.british)(f"{line.text.words}."))
    if line.usual_thou and "thou" in line.text.words.split():
        spoken = spoken.replace("ðˈW", "θˈW")
    return spoken


def word_sounds(word: str, british: bool) -> Sounds:
    """The phones of a single word."""
    return sounds_of(str(phonemes_of(british)(f"{word}.")))


@lru_cache(maxsize=64)
def _speaker(file: Path) -> Any:
    try:
        return np.fromfile(file, "<f4").reshape(-1, 256)
    except (OSError, ValueError) as error:
        raise Refusal(f"{file}: no speaker of kokoro-js ({error})", "") from error
