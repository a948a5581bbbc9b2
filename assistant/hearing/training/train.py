"""Train the ear: `python -m assistant.hearing.training.train`.

Makes voices, rooms, microphones and noises, embeds them, and fits a classifier to the program's
phrases and the user's own. On two cores under half an hour; a smaller `--takes` is quicker
and hears less well.
"""

from __future__ import annotations

import argparse
import os
import sys
import time
from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path

from assistant.engine.phrases import LOCK_AND_GUARD
from assistant.errors import Refusal
from assistant.hearing import vocabulary
from assistant.hearing.classifier.classifier import Classifier, load_classifier, save_classifier
from assistant.hearing.classifier.fitting import Course
from assistant.hearing.model_files import own_classifier
from assistant.hearing.spoken_numbers import digit_words
from assistant.hearing.training.corpus import Plan, examples, noise_cuts, takes
from assistant.hearing.training.frames import NOISES, framed, noise_frames
from assistant.hearing.training.learning import (
    FOR_OTHER_PHRASES,
    beside,
    expecting_phrases,
    learn_classifier,
    networks,
)
from assistant.hearing.training.sound_fitting import SoundCourse
from assistant.hearing.training.voices import SYNTHESISERS, Speaker, all_voices

NOISE_CUTS = 600
"""Stretches of machine sound, cut as utterances, that the classifiers learn are none."""


def main(words: list[str]) -> int:
    """The exit code of the training of the ear; 1 where it is refused, with the reason."""
    given = _parser().parse_args(words)
    try:
        return _train(given)
    except Refusal as error:
        print(f"train: {error}", file=sys.stderr)
        return 1


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="python -m assistant.hearing.training.train",
        description="Train the ear for the program's phrases and your own.",
        epilog="example: python -m assistant.hearing.training.train --phrases phrases.toml",
    )
    parser.add_argument("--phrases", type=Path, help="your own phrases (phrases.toml)")
    parser.add_argument(
        "--out", type=Path, default=own_classifier(), help="the classifier to write"
    )
    parser.add_argument("--takes", type=int, default=Plan.takes, help="recordings of each phrase")
    parser.add_argument("--numbers", action="store_true", help="the classifier for digits instead")
    parser.add_argument("--seed", type=int, default=Course.seed, help="of the fitting")
    parser.add_argument(
        "--beside", type=Path, help="an earlier classifier to stand beside the new one"
    )
    parser.add_argument("--cache", type=Path, default=_cache(), help="folder for the recordings")
    return parser


def _cache() -> Path:
    from platformdirs import user_cache_path

    return user_cache_path("tallyhand", appauthor=False) / "training"


def _train(given: argparse.Namespace) -> int:
    if given.takes < 1:
        raise Refusal(
            f"--takes {given.takes}", "at least one recording of each phrase is needed", ": "
        )
    known = vocabulary.read_vocabulary(given.phrases)
    phrases = digit_words() if given.numbers else sorted(known)
    strict = [p for p in phrases if known.get(p) in LOCK_AND_GUARD]
    earlier = _earlier(given.beside, phrases) if given.beside else None
    voices = all_voices()
    _tell_voices(voices)
    # More than one thread a network only makes the cores wait for each other.
    os.environ.setdefault("OMP_NUM_THREADS", "1")
    plan = Plan(takes=given.takes)
    if given.numbers:
        plan = replace(plan, negatives=10, narrow=0.5)
    said = takes(plan, phrases, voices, strict)
    made = examples(plan, said, given.cache, _tell)
    frames = [] if given.numbers else framed(plan, said, given.cache, _tell)
    _tell(f"{_cpu_seconds():.0f} seconds of processor time for the recordings")
    classifier = learn_classifier(made, noise_cuts(NOISE_CUTS, plan.seed), Course(seed=given.seed))
    if not given.numbers:  # for single digits of real people the networks gave nothing
        noise = noise_frames(NOISES, plan.seed)
        course = SoundCourse(seed=given.seed)
        fitted = networks(frames, noise, classifier.labels, course, _tell)
        classifier = replace(expecting_phrases(classifier), networks=fitted)
    if earlier:
        classifier = _beside(classifier, earlier, given.beside)
    save_classifier(classifier, given.out)
    _tell(f"{given.out}: {len(classifier.labels) - 1} phrases from {len(made)} utterances")
    return 0


def _earlier(file: Path, phrases: Iterable[str]) -> Classifier:
    """The earlier classifier; refused here where it knows other phrases: training takes half an
    hour."""
    earlier = load_classifier(file)
    if not set(earlier.labels) <= {*phrases, ""}:
        raise Refusal(f"{file}: {FOR_OTHER_PHRASES}", "leave --beside away")
    return earlier


def _beside(classifier: Classifier, earlier: Classifier, file: Path) -> Classifier:
    try:
        return beside(classifier, earlier)
    except ValueError as error:
        raise Refusal(f"{file}: {error}", "leave --beside away") from error


def _tell_voices(voices: list[Speaker]) -> None:
    here = {voice.synthesiser for voice in voices}
    if not here:
        raise Refusal("no synthesiser was found", "install espeak-ng, flite or festival", ": ")
    for name in SYNTHESISERS:
        count = sum(voice.synthesiser == name for voice in voices)
        _tell(f"{name}: {count} speakers" if count else f"{name}: not here, left out")


def _cpu_seconds() -> float:
    """Of this process and those it started; on Windows, which tells no more, of this one."""
    if sys.platform == "win32":
        return time.process_time()
    import resource

    return sum(
        used.ru_utime + used.ru_stime
        for used in map(resource.getrusage, (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN))
    )


def _tell(line: str) -> None:
    print(line, flush=True)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
