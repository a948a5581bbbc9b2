"""Hours of noise, of talk and of our own announcer: what is taken that nobody said.

    python -m tests.bench.hearing_hours listen noise 24 FOLDER
    python -m tests.bench.hearing_hours judge FOLDER

The first has the voice detector listen, the slow part, and keeps the sound and what the
detector said, 115 MB an hour at most, in pieces of ten minutes: it goes on where it was broken
off. The second feeds both to the chain of the bench with the classifier as it is now, and prints a
JSON line for each piece; `tests.bench.hearing --hours FOLDER` does so for its page. A new
classifier costs the second only.
"""

from __future__ import annotations

import json
import sys
from collections import deque
from collections.abc import Callable, Iterator
from functools import partial
from importlib import import_module
from itertools import count, islice
from pathlib import Path
from typing import Any

import numpy as np

from assistant.devices.sound.loudness import rms
from assistant.engine.engine import expected_commands
from assistant.engine.phases import Step
from assistant.engine.state import State
from assistant.errors import Refusal
from assistant.files.settings import EarSettings
from assistant.hearing.endpointing import CHUNK, Detector, silero
from assistant.hearing.judging import Heard, Hearer
from assistant.hearing.recognisers.recogniser import Guess, Recogniser
from assistant.hearing.recognisers.trained import TrainedEar
from assistant.hearing.training.noises import clanks, compressor, fan, pink, saw, white
from assistant.hearing.training.sentences import announcements
from assistant.hearing.training.spoiling import microphone, room
from assistant.hearing.training.voices import SpeakingManner
from assistant.hearing.vocabulary import built_in
from assistant.hearing.waves import RATE, Wave, mix, to_pcm
from tests.bench.hearing_clips import KINDS
from tests.bench.hearing_voices import test_voices

PIECE_S = 30
BLOCK_S = 600
BLOCK = BLOCK_S * RATE
assert BLOCK % CHUNK == 0
QUIET = 0.3
"""Where the detector never said more there is no utterance: that block's sound is not kept."""


def noise(seed: int) -> Iterator[Wave]:
    """All kinds of noise in turn, at all levels."""
    kinds = [*KINDS.values(), saw, compressor, fan, clanks, white, pink]
    for number in count():
        rng = np.random.default_rng([404, seed, number])
        made = kinds[number % len(kinds)](rng, PIECE_S * RATE)
        yield made * np.float32(10 ** (rng.uniform(-45, -14) / 20) / rms(made))


def _read_aloud(sentences: Callable[[int], str], seed: int) -> Iterator[Wave]:
    voices = [voice for voice in test_voices() if voice.synthesiser == "pico"]
    if not voices:
        raise Refusal("no voice to read aloud with: pip install 'tallyhand[bench]' brings two")
    for number in count():
        rng = np.random.default_rng([808, seed, number])
        manner = SpeakingManner(float(rng.uniform(0.8, 1.2)), float(rng.uniform(0, 1)), number)
        said = voices[number % len(voices)].say(sentences(number), manner)
        if not len(said):
            continue
        said = np.concatenate([said, np.zeros(int(rng.uniform(0.1, 1.0) * RATE), np.float32)])
        heard = microphone(rng, room(rng, said))
        ratio = float(rng.uniform(10, 40))
        yield mix(heard, pink(rng, len(heard)), ratio) * np.float32(0.1 / max(rms(heard), 1e-6))


def talk(seed: int) -> Iterator[Wave]:
    """Ordinary prose read aloud: the language's own help texts, which no training text quotes."""
    topics: dict[str, str] = import_module("pydoc_data.topics").topics
    text = " ".join(topics[name] for name in sorted(topics))
    plain = "".join(c if c.isalpha() or c in " .,;'" else " " for c in text)
    lines = [" ".join(s.split()) for s in plain.replace(";", ".").split(".")]
    lines = [s for s in lines if 2 <= len(s.split()) <= 30]
    order = np.random.default_rng(seed).permutation(len(lines))
    return _read_aloud(lambda n: lines[order[n % len(lines)]], seed)


def announcer(seed: int) -> Iterator[Wave]:
    """Our own sentences, by a voice that was never trained on."""
    lines = announcements(tuple(sorted(built_in())))
    return _read_aloud(lambda n: lines[n % len(lines)], seed)


SOURCES = {"noise": noise, "talk": talk, "announcer": announcer}


def listen(source: str, hours: float, folder: Path, seed: int = 1) -> None:
    """Keep what the detector says of so many hours, block by block."""
    place = folder / f"{source}-{seed}"
    place.mkdir(parents=True, exist_ok=True)
    voice = silero()
    for number, block in enumerate(islice(_blocks(source, seed), round(hours * 3600 / BLOCK_S))):
        file = place / f"{number:04d}.npz"
        if file.exists():
            continue  # the detector then begins afresh at the next block
        said = np.array([voice(chunk) for chunk in _chunks(block)])
        kept = np.frombuffer(block if said.max() > QUIET else b"", "<i2")
        np.savez(file.with_suffix(".part.npz"), voice=said, pcm=kept, allow_pickle=False)
        file.with_suffix(".part.npz").rename(file)


def _blocks(source: str, seed: int) -> Iterator[bytes]:
    held = b""
    for sound in SOURCES[source](seed):
        held += to_pcm(sound)
        while len(held) >= 2 * BLOCK:
            yield held[: 2 * BLOCK]
            held = held[2 * BLOCK :]


def _chunks(block: bytes) -> Iterator[bytes]:
    return (block[at : at + 2 * CHUNK] for at in range(0, len(block), 2 * CHUNK))


STEPS = (Step.RELEASE, Step.INDEX, Step.LOCK, Step.GUARD, Step.CUT)


class Once:
    """An ear that two chains ask for the same: it thinks once."""

    def __init__(self, ear: Recogniser) -> None:
        self._ear = ear
        self.name, self.notes, self.quick = ear.name, ear.notes, ear.quick
        self._last = (b"", Guess("", None, 0.0))

    def recognise(self, pcm: bytes) -> Guess:
        if self._last[0] != pcm:
            self._last = (pcm, self._ear.recognise(pcm))
        return self._last[1]


def places(folder: Path) -> list[Path]:
    """What was listened to, the longest first."""
    return sorted(folder.iterdir(), key=lambda place: -len(list(place.iterdir())))


def judge(place: Path) -> list[dict[str, Any]]:
    """What is taken in each block that was listened to: with every phrase possible, and at a
    step of a cut, another in each block."""
    chains, found = _Chains(Once(TrainedEar())), []
    for number, file in enumerate(sorted(place.glob("[0-9]*[0-9].npz"))):
        with np.load(file) as kept:
            pcm = kept["pcm"].tobytes() or bytes(2 * BLOCK)
            told = chains.over(pcm, kept["voice"].tolist(), STEPS[number % len(STEPS)])
        source = place.name.rpartition("-")[0]
        found.append({"source": source, "seconds": BLOCK_S, **told})
    return found


class _Chains:
    """The chain of the bench twice, over the same sound and the same figures of the detector."""

    def __init__(self, ear: Recogniser) -> None:
        self._said: tuple[deque[float], ...] = (deque(), deque())
        self._hearers = [
            Hearer(ear, Detector(partial(_next, said)), EarSettings()) for said in self._said
        ]

    def over(self, pcm: bytes, voice: list[float], step: Step) -> dict[str, Any]:
        self._hearers[1].expected = expected_commands(State(step=step))
        found: tuple[list[Heard], ...] = ([], [])
        for said in self._said:
            said.extend(voice)
        for chunk in _chunks(pcm):
            for own, hearer in zip(found, self._hearers, strict=True):
                own.extend(hearer.feed(chunk))
        return {
            "utterances": len(found[0]),
            "taken": [(h.text, round(h.confidence, 3)) for h in found[0] if h.accepted],
            "step": step.value,
            "taken_at_step": [(h.text, round(h.confidence, 3)) for h in found[1] if h.accepted],
        }


def _next(said: deque[float], _: bytes) -> float:
    return said.popleft()


def main(words: list[str]) -> None:
    if words[:1] == ["listen"]:
        source, hours, folder, *seed = words[1:]
        try:
            listen(source, float(hours), Path(folder), *map(int, seed))
        except Refusal as error:
            sys.exit(str(error))
        return
    for place in places(Path(words[1])):
        for told in judge(place):
            print(json.dumps(told), flush=True)


if __name__ == "__main__":
    main(sys.argv[1:])
