"""Train the phone network: `python -m assistant.hearing.training.phones.train_phones`.

Speaks the texts, reads the words by people, and fits. The defaults are those of the file that is
shipped. Speaking takes hours of processor time and is kept; fitting wants a graphics processor.
"""

from __future__ import annotations

import argparse
import sys
from importlib import util
from pathlib import Path

import numpy as np
import numpy.typing as npt

from assistant.engine.phrases import LOCK_AND_GUARD
from assistant.errors import Refusal
from assistant.hearing.phones.scoring import sounds
from assistant.hearing.training.noises import TRAINED_ON, Maker, mill, shop
from assistant.hearing.training.phones.people import strings, words_by_people
from assistant.hearing.training.phones.speaking import Counts, spoken_takes, voice_plan, word_sounds
from assistant.hearing.training.phones.store import stored
from assistant.hearing.training.phones.takes import Take
from assistant.hearing.vocabulary import built_in

NOISE_SEED, NOISE_SAMPLES = 1234, 136_000
_LOUD: tuple[Maker, ...] = (*TRAINED_ON, mill, mill, shop, shop)


def main(given: list[str]) -> int:
    """The exit code of the training of the phone network; 1 where it is refused,
    with the reason.
    """
    try:
        return _train(_parser().parse_args(given))
    except Refusal as error:
        print(f"train: {error}", file=sys.stderr)
        return 1


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="python -m assistant.hearing.training.phones.train_phones",
        description="Train the phone network, by which sizes are read.",
        epilog="example: ... --speakers kokoro-js/voices --people speech_commands --out phones.npz",
    )
    parser.add_argument("--speakers", type=Path, required=True, help="kokoro-js: its folder voices")
    parser.add_argument("--people", type=Path, required=True, help="words by people (WAV)")
    parser.add_argument(
        "--cache", type=Path, default=Path("phones-cache"), help="for what is spoken"
    )
    parser.add_argument("--out", type=Path, default=Path("phones.npz"), help="the file to write")
    usual = Counts()
    for name, who in (
        ("kokoro", "the neural speakers"),
        ("espeak", "espeak-ng"),
        ("flite", "flite"),
        ("more", "the neural speakers, short texts and numbers"),
        ("more-espeak", "espeak-ng, short texts and numbers"),
    ):
        many = getattr(usual, name.replace("-", "_"))
        parser.add_argument(f"--{name}", type=int, default=many, help=f"takes by {who}")
    parser.add_argument("--strings", type=int, default=12_000, help="rows of words by people")
    parser.add_argument("--noises", type=int, default=1440, help="stretches of machine sound")
    for name, many, what in (
        ("trunk", 1500, "steps that all seeds have in common"),
        ("steps", 9000, "of each seed"),
        ("pupil", 0, "steps of one network that learns from all seeds; 0: the first is written"),
        ("seeds", 1, "how many networks"),
        ("seed", 4, "the first of them"),
    ):
        parser.add_argument(f"--{name}", type=int, default=many, help=what)
    parser.add_argument("--batch", type=int, default=256, help="examples a step")
    parser.add_argument("--only", default="", help="trunk or a seed's number: fit that and stop")
    parser.add_argument("--device", default="cuda", help="cuda or cpu")
    return parser


def _train(given: argparse.Namespace) -> int:
    if util.find_spec("torch") is None:
        raise Refusal("PyTorch is not installed", "install torch for your graphics processor", ": ")
    if min(given.steps, given.batch, given.noises, given.trunk, given.seeds) < 1:
        raise Refusal("--trunk, --steps, --seeds, --batch and --noises must be 1 or more", "")
    from assistant.hearing.training.phones.band_spoiling import Spoiler
    from assistant.hearing.training.phones.courses import Courses, Fitting
    from assistant.hearing.training.phones.torch_network import save_network

    phrases = sorted(built_in())
    store = stored(_takes(given, phrases))
    _tell(f"{len(store.length)} takes, {len(store.sound) / 16_000 / 3600:.2f} hours")
    noises = noise_stretches(given.noises)
    fitting = Fitting(
        store, lambda seed: Spoiler(store, noises, given.device, seed), len(phrases), given.batch,
        given.device, given.cache, _tell,
    )  # fmt: skip
    courses = Courses(given.trunk, given.seeds, given.seed, given.steps, given.pupil)
    if given.only == "trunk":
        fitting.trunk(courses)
    elif given.only:
        fitting.seed(int(given.only), courses)
    else:
        save_network(fitting.pupil(courses), given.out)
        _tell(f"{given.out}: written")
    return 0


def _takes(given: argparse.Namespace, phrases: list[str]) -> list[Take]:
    known = built_in()
    strict = [phrase for phrase in phrases if known[phrase] in LOCK_AND_GUARD]
    speakers = [file.stem for file in given.speakers.glob("*.bin")]
    counts = Counts(given.kokoro, given.espeak, given.flite, given.more, given.more_espeak)
    lines = voice_plan(speakers, phrases, strict, counts)
    alone = words_by_people(given.people, word_sounds)
    spoken = spoken_takes(lines, given.speakers, given.cache, _tell)
    points = [take for take in spoken if take.sounds == sounds("pYnt")]
    return [*spoken, *alone, *strings(np.random.default_rng(5), alone, given.strings, points)]


def noise_stretches(count: int) -> npt.NDArray[np.int16]:
    """Stretches of 8.5 s, the kinds in turn, mill and shop three times as often as others."""
    made = np.zeros((count, NOISE_SAMPLES), np.int16)
    for n, row in enumerate(made):
        sound = _LOUD[n % len(_LOUD)](np.random.default_rng([NOISE_SEED, n]), NOISE_SAMPLES)
        row[:] = np.clip(sound * 3000, -32767, 32767)
    return made


def _tell(line: str) -> None:
    print(line, flush=True)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
