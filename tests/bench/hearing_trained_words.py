"""Six wake words of a public benchmark, said by people, trained from synthetic voices alone.

    python -m tests.bench.hearing_trained_words FOLDER PEOPLE TALK SPEAKERS [STAGE ...]

FOLDER keeps what each stage made; PEOPLE holds a folder of WAV files for each word; TALK is what
`hearing_hours listen talk` made; SPEAKERS is the folder `voices` of the npm package kokoro-js. No
stage but the last looks at what is right for PEOPLE. Without a STAGE all run, one after the other.
Needs `pip install 'tallyhand[bench,train]'` and espeak-ng; the stage "taught" is left out without
PyTorch, and is long without a graphics processor. The rest is reckoned, from parts of it, at about
an hour and a half of two quiet cores for 8 hours of talk.
"""

from __future__ import annotations

import os
import pickle
import sys
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor, ThreadPoolExecutor
from dataclasses import dataclass, replace
from functools import cache, partial
from importlib.util import find_spec
from multiprocessing import get_context
from pathlib import Path
from typing import Any, TypeVar

import numpy as np

from assistant.engine.phrases import LOCK_AND_GUARD
from assistant.hearing.classifier.classifier import NONE, Classifier
from assistant.hearing.classifier.embedding import Networks, embed_mels, mels_of
from assistant.hearing.classifier.features import features
from assistant.hearing.classifier.fitting import Course
from assistant.hearing.classifier.sound_network import SoundNetwork
from assistant.hearing.endpointing import CHUNK, CHUNK_S, RUN_UP_S, TRAIL_S
from assistant.hearing.phones.network import bands, shipped
from assistant.hearing.training.corpus import (
    Plan,
    SpokenSentence,
    examples,
    noise_cuts,
    piece,
    snr_of,
    spoken_take,
    takes,
)
from assistant.hearing.training.frames import NOISES, framed, noise_frames
from assistant.hearing.training.learning import expecting_phrases, learn_classifier, networks
from assistant.hearing.training.noises import Random, mill, pink
from assistant.hearing.training.phones.parts import CHOICES, trained
from assistant.hearing.training.sentences import negatives, single_words
from assistant.hearing.training.sound_fitting import SoundCourse
from assistant.hearing.training.spoiling import Spoilt, spoil_speech
from assistant.hearing.training.train import NOISE_CUTS
from assistant.hearing.training.voices import (
    Speaker,
    SpeakingManner,
    all_voices,
    phonemes_of,
    voiced,
)
from assistant.hearing.vocabulary import built_in
from assistant.hearing.waves import RATE, Wave, from_pcm, read_sound, to_pcm
from tests.bench.hearing_people import STILL_DB, Listening, over_noise, talk
from tests.bench.hearing_words_heard import WORDS, Clip, Cut, Ears, Heard, phrases
from tests.bench.pinned import pinned

PLAN = Plan()
VERSIONS, OF_PHRASES, OF_OTHERS = 6, 1, 4
"""Of each recording of a word, of a phrase of the program and of anything else, for the phones."""

OF_A_SPEAKER, NOT_OF_A_SPEAKER = 3, 12
CONDITIONS = {"clean": (pink, STILL_DB), "mill 10 dB": (mill, 10.0)}

Made = TypeVar("Made")
Given = TypeVar("Given")
Said = tuple[str, str, Path | SpokenSentence]


@dataclass(frozen=True)
class Places:
    """Where everything lies."""

    folder: Path
    people: Path
    talk: Path
    speakers: Path

    @property
    def cache(self) -> Path:
        """What was spoken."""
        return self.folder / "cache"


def _said() -> list[SpokenSentence]:
    known = built_in()
    strict = [phrase for phrase, command in known.items() if command in LOCK_AND_GUARD]
    return takes(PLAN, phrases(), all_voices(), strict)


def of_networks(at: Places) -> tuple[SoundNetwork, ...]:
    """Stage: the networks on the sound, as the training of the program makes them."""
    labels = (*phrases(), NONE)
    with ProcessPoolExecutor(1, get_context("spawn")) as pool:
        noise = pool.submit(noise_frames, NOISES, PLAN.seed)
        frames = framed(PLAN, _said(), at.cache, _tell)
        _tell("mel frames: done")
        return networks(frames, noise.result(), labels, SoundCourse(), _tell)


def of_classifiers(at: Places) -> tuple[Classifier, Classifier]:
    """Stage: the classifier as the training of the program makes it, for its phrases and the
    words; and one for the words alone, to which the phrases are none of them."""
    made = examples(PLAN, _said(), at.cache, _tell)
    alone = [replace(each, label=each.label if each.label in WORDS else NONE) for each in made]
    noise = noise_cuts(NOISE_CUTS, PLAN.seed)
    with ThreadPoolExecutor(2) as pool:
        both, six = pool.map(partial(learn_classifier, noise=noise, course=Course()), (made, alone))
    return expecting_phrases(both), six


def _style(file: Path, british: bool, text: str, manner: SpeakingManner) -> Wave:
    style = np.fromfile(file, "<f4").reshape(-1, 256)
    return voiced(str(phonemes_of(british)(f"{text}.")), [(1.0, style)], manner.pace)


def speaker(folder: Path, name: str) -> Speaker:
    """One of the many speakers of the neural synthesiser: British where the name begins so."""
    return Speaker("kokoro-js", name, partial(_style, folder / f"{name}.bin", name[0] == "b"))


def _more(at: Places) -> list[SpokenSentence]:
    """The words and other talk by every speaker who may be heard in training."""
    found = []
    for n, name in enumerate(trained(file.stem for file in at.speakers.glob("*.bin"))):
        rng, voice = np.random.default_rng([PLAN.seed, 77, n]), speaker(at.speakers, name)
        words = [word for word in WORDS for _ in range(OF_A_SPEAKER)]
        others = negatives(rng, NOT_OF_A_SPEAKER, list(WORDS)) + single_words(rng, 6, phrases())
        for label, text in [*((w, w) for w in words), *(("", t) for t in others)]:
            manner = SpeakingManner(round(rng.uniform(0.75, 1.3), 2), 0.5, 1)
            talk_only = len(text.split()) > 4 and not any(f" {w} " in f" {text} " for w in WORDS)
            found.append(SpokenSentence(label, text, voice, manner, talk_only))
    return found


def of_cuts(at: Places) -> list[Cut]:
    """Stage: the recordings of the training, and those of more speakers, for the phones."""
    made = _in_processes(partial(_cuts_of, at.cache), [*_said(), *_more(at)])
    return [each for several in made for each in several]


def _cuts_of(cache: Path, take: SpokenSentence) -> list[Cut]:
    sound = spoken_take(take, cache)
    found = []
    for version in range(_versions(take.label)):
        rng = np.random.default_rng([PLAN.seed, int(take.key[:12], 16), version, 6])
        said = piece(rng, sound) if take.talk and version else sound
        if len(said) < RATE // 10:
            continue
        heard = as_cut(rng, spoil_speech(rng, said, snr_of(rng)))
        seen = bands(heard).astype(np.float16)
        if not len(seen) or len(heard) > 4.5 * RATE:
            continue
        inner = shipped().inner(heard).astype(np.float16) if take.label and version < 2 else None
        found.append(Cut(seen, inner, take.label, take.text))
    return found


def _versions(label: str) -> int:
    return VERSIONS if label in WORDS else OF_PHRASES if label else OF_OTHERS


def as_cut(rng: Random, spoilt: Spoilt) -> Wave:
    """From its run-up to the end of the silence after it, with the lags that the detector has."""
    onset = spoilt.first + rng.uniform(-0.05, 0.13) * RATE
    end = spoilt.last + rng.uniform(0, 0.2) * RATE
    first = max(0, round(onset / CHUNK) + int(-RUN_UP_S // CHUNK_S))
    last = round(end / CHUNK) - int(-TRAIL_S // CHUNK_S)
    return from_pcm(to_pcm(spoilt.sound[first * CHUNK : last * CHUNK]))


def of_taught(at: Places) -> Any:
    """Stage: the phone network, or only what stands on it, taught the words (PyTorch)."""
    from tests.bench.hearing_words_taught import both_taught

    return both_taught(_kept(at, "cuts"), _tell)


@cache
def _listening() -> tuple[Listening, Networks]:
    return Listening(shipped()), Networks()


def heard(pcm: bytes) -> Heard:
    """What the networks make of an utterance."""
    (listening, embedding), sound = _listening(), from_pcm(pcm)
    mels = mels_of(embedding, pcm)
    vectors = embed_mels(embedding, mels)
    row = features(vectors, len(pcm) / 2 / RATE) if len(vectors) else None
    inner = listening.network.inner(sound)
    return Heard(
        row, mels.astype(np.float16), bands(sound).astype(np.float16), inner.astype(np.float16)
    )


def _clip(number: int, said: Said) -> list[Clip]:
    word, who, source = said
    if isinstance(source, Path):
        sound = read_sound(source)
    else:
        sound = source.voice.say(word, source.manner)
    found = []
    for condition, (noise, ratio) in CONDITIONS.items():
        cut = _longest(sound, np.random.default_rng([72, number]), noise, ratio)
        found.append(Clip(word, who, condition, heard(cut) if cut else None))
    return found


def _longest(sound: Wave, rng: Random, noise: Any, ratio: float) -> bytes:
    """As `Listening.to` finds it: before a detector just switched on."""
    listening, _ = _listening()
    return max(listening.utterances(over_noise(sound, rng, noise, ratio)), key=len, default=b"")


def _spoken_words(at: Places) -> Iterator[tuple[str, str, SpokenSentence]]:
    for n, name in enumerate(sorted(CHOICES)):
        for word in WORDS:
            for m, pace in enumerate((0.85, 1.0, 1.15, 1.25)):
                voice = speaker(at.speakers, name)
                manner = SpeakingManner(pace, 0.5, n + m)
                yield word, name, SpokenSentence(word, word, voice, manner)


def of_ears(at: Places) -> Ears:
    """Stage: everything that is judged, through detector and networks."""
    files = [(file.parent.name, file.stem, file) for file in sorted(at.people.rglob("*.wav"))]
    people = _in_processes(_numbered_clip, list(enumerate(f for f in files if f[0] in WORDS)))
    voices = _in_processes(_numbered_clip, list(enumerate(_spoken_words(at))))
    told = _in_processes(_talk_of, sorted(at.talk.rglob("[0-9]*[0-9].npz")))
    return Ears(
        [clip for several in people for clip in several],
        [clip for several in voices for clip in several],
        [each for several, _ in told for each in several],
        sum(hours for _, hours in told),
    )


def _numbered_clip(given: tuple[int, Said]) -> list[Clip]:
    return _clip(*given)


def _talk_of(file: Path) -> tuple[list[Heard], float]:
    utterances, hours = talk(file)
    return [heard(pcm) for pcm in utterances], hours


def _in_processes(work: Callable[[Given], Made], given: Sequence[Given]) -> list[Made]:
    count = len(os.sched_getaffinity(0))
    with ProcessPoolExecutor(count, get_context("spawn"), pinned) as pool:
        return list(pool.map(work, given, chunksize=max(1, min(8, len(given) // count))))


def of_report(at: Places) -> str:
    """Stage: the table."""
    from tests.bench.hearing_words_ways import table

    both, six = _kept(at, "classifiers")
    complete = replace(both, networks=_kept(at, "networks"))
    taught = _kept(at, "taught") if find_spec("torch") else None
    return table(complete, six, _kept(at, "cuts"), taught, _kept(at, "ears"))


STAGES: Mapping[str, Callable[[Places], Any]] = {
    "networks": of_networks, "classifiers": of_classifiers, "cuts": of_cuts, "taught": of_taught,
    "ears": of_ears, "report": of_report,
}  # fmt: skip


def _kept(at: Places, stage: str) -> Any:
    file = at.folder / f"{stage}.pickle"
    if not file.exists():
        made = STAGES[stage](at)
        at.folder.mkdir(parents=True, exist_ok=True)
        file.write_bytes(pickle.dumps(made))
        return made
    return pickle.loads(file.read_bytes())  # written by this program, in a folder of one's own


def _tell(line: str) -> None:
    print(line, flush=True)


def main(words: Iterable[str]) -> None:
    folder, people, told, speakers, *stages = words
    at = Places(Path(folder), Path(people), Path(told), Path(speakers))
    for stage in stages or [each for each in STAGES if each != "taught" or find_spec("torch")]:
        made = _kept(at, stage)
        _tell(made if isinstance(made, str) else f"{stage}: done")


if __name__ == "__main__":
    os.environ.setdefault("OMP_NUM_THREADS", "1")
    main(sys.argv[1:])
