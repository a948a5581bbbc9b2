"""Hours of noise, of talk and of our own announcer: what is taken that nobody said.

`python -m tests.bench.hearing_hours noise 24 hours.jsonl` adds a JSON line every ten minutes
of sound, so that a run can be broken off and counted.
"""

from __future__ import annotations

import json
import sys
import time
from collections.abc import Callable, Iterator
from importlib import import_module
from itertools import count
from pathlib import Path

import numpy as np

from assistant.devices.ear import open_hearer
from assistant.hearing.training.noises import clanks, compressor, fan, pink, saw, white
from assistant.hearing.training.sentences import announcements
from assistant.hearing.training.spoiling import microphone, room
from assistant.hearing.training.voices import Manner
from assistant.hearing.vocabulary import built_in
from assistant.hearing.waves import RATE, Wave, mix, rms, to_pcm
from assistant.settings import Ear
from tests.bench.hearing_clips import KINDS
from tests.bench.hearing_voices import test_voices

PIECE_S, REPORT_S = 30, 600


def noise(seed: int) -> Iterator[Wave]:
    """All kinds of noise in turn, at all levels."""
    kinds = [*KINDS.values(), saw, compressor, fan, clanks, white, pink]
    for number in count():
        rng = np.random.default_rng([404, seed, number])
        made = kinds[number % len(kinds)](rng, PIECE_S * RATE)
        yield made * np.float32(10 ** (rng.uniform(-45, -14) / 20) / rms(made))


def _read_aloud(sentences: Callable[[int], str], seed: int) -> Iterator[Wave]:
    voices = [voice for voice in test_voices() if voice.synthesiser == "pico"]
    for number in count():
        rng = np.random.default_rng([808, seed, number])
        manner = Manner(float(rng.uniform(0.8, 1.2)), float(rng.uniform(0, 1)), number)
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


def run(source: str, hours: float, out: Path, seed: int) -> None:
    hearer = open_hearer(Ear())
    begun, seconds, taken, utterances = time.process_time(), 0.0, [], 0
    reported = 0.0
    for sound in SOURCES[source](seed):
        for heard in hearer.feed(to_pcm(sound)):
            utterances += 1
            if heard.accepted:
                taken.append([heard.text, round(heard.confidence, 3)])
        seconds += len(sound) / RATE
        if seconds - reported >= REPORT_S or seconds >= hours * 3600:
            line = {
                "source": source,
                "seed": seed,
                "hours": round((seconds - reported) / 3600, 4),
                "utterances": utterances,
                "taken": taken,
                "cpu_s": round(time.process_time() - begun, 1),
            }
            with out.open("a") as file:
                file.write(json.dumps(line) + "\n")
            reported, taken, utterances, begun = seconds, [], 0, time.process_time()
        if seconds >= hours * 3600:
            return


if __name__ == "__main__":
    run(sys.argv[1], float(sys.argv[2]), Path(sys.argv[3]), int((sys.argv[4:] or ["1"])[0]))
