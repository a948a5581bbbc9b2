"""The training's command from its first line to a classifier that the ear opens, made small."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from shutil import which
from types import SimpleNamespace

import pytest

from assistant.engine.events import Command
from assistant.hearing.classifier.classifier import load_classifier
from assistant.hearing.classifier.fitting import Course
from assistant.hearing.model_files import NUMBERS
from assistant.hearing.recognisers.trained import TrainedEar
from assistant.hearing.spoken_numbers import digit_words
from assistant.hearing.training import train
from assistant.hearing.training.corpus import Plan
from assistant.hearing.training.sound_fitting import SoundCourse
from assistant.hearing.training.voices import all_voices
from assistant.hearing.vocabulary import built_in, read_vocabulary

pytestmark = pytest.mark.skipif(not which("espeak-ng"), reason="needs espeak-ng")


@pytest.fixture(autouse=True)
def small(monkeypatch: pytest.MonkeyPatch) -> None:
    """Few recordings by one synthesiser, hardly any fitting: what it learns is not asked here."""
    pytest.importorskip("pyopen_wakeword")
    voices = [voice for voice in all_voices() if voice.synthesiser == "espeak-ng"]
    plan = partial(Plan, negatives=2, words=1, versions=1, negative_versions=1, framed=1)
    course = partial(Course, epochs=1, hidden=8)
    plan.takes, course.seed = Plan.takes, Course.seed  # type: ignore[attr-defined]
    monkeypatch.setattr(train, "all_voices", lambda: voices)
    monkeypatch.setattr(train, "Plan", plan)
    monkeypatch.setattr(train, "Course", course)
    channels = (4, 4, 4, 4, 4)
    monkeypatch.setattr(train, "SoundCourse", partial(SoundCourse, steps=3, channels=channels))
    monkeypatch.setattr(train, "NOISES", 12)
    monkeypatch.setattr(train, "NOISE_CUTS", 12)


def run(folder: Path, *words: str) -> int:
    cache, out = str(folder / "cache"), str(folder / "classifier.npz")
    return train.main(["--takes", "1", "--cache", cache, "--out", out, *words])


FEW = ("spindle locked", "cut done", "how many left")


@pytest.fixture(params=["few", pytest.param("all", marks=pytest.mark.release)])
def phrases(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The phrases of the program: before a release all, every day three."""
    if request.param == "all":
        return sorted(built_in())

    def few(own: Path | None) -> dict[str, Command]:
        kept = read_vocabulary(own).items()
        return {said: of for said, of in kept if said in FEW or said not in built_in()}

    monkeypatch.setattr(train, "vocabulary", SimpleNamespace(read_vocabulary=few))
    return list(FEW)


def test_a_classifier_for_the_phrases_and_one_of_the_person(
    phrases: list[str], tmp_path: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    """Layers and networks for every phrase; a second run takes the recordings from the cache and
    makes the same classifier; the ear opens it."""
    own = tmp_path / "phrases.toml"
    own.write_text('pause = ["chips are flying"]\n', "utf-8")
    assert run(tmp_path, "--phrases", str(own)) == 0
    told = capfd.readouterr().out
    assert "espeak-ng: 72 speakers" in told
    assert "festival: not here, left out" in told
    first = load_classifier(tmp_path / "classifier.npz")
    assert set(first.labels) == {*phrases, "chips are flying", ""}
    assert len(first.networks) == 2
    before = (tmp_path / "classifier.npz").read_bytes()
    assert run(tmp_path, "--phrases", str(own)) == 0
    again = load_classifier(tmp_path / "classifier.npz")
    assert (tmp_path / "classifier.npz").read_bytes() == before
    assert again.labels == first.labels
    TrainedEar(tmp_path / "classifier.npz").recognise(bytes(64_000))
    beside = tmp_path / "earlier.npz"
    (tmp_path / "classifier.npz").rename(beside)
    assert run(tmp_path, "--phrases", str(own), "--seed", "4", "--beside", str(beside)) == 0
    both = load_classifier(tmp_path / "classifier.npz")
    assert both.layers.hidden.shape[1] == 2 * first.layers.hidden.shape[1]
    assert len(both.networks) == 4


def test_a_classifier_for_digits_has_no_networks(tmp_path: Path) -> None:
    """Beside the embedding they gave nothing to the digits of real people."""
    assert run(tmp_path, "--numbers") == 0
    classifier = load_classifier(tmp_path / "classifier.npz")
    assert len(classifier.labels) > 10  # one take of each: the detector may miss one
    assert set(classifier.labels) <= {*digit_words(), ""}
    assert classifier.networks == ()


def test_no_synthesiser_is_told_with_the_cure(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(train, "all_voices", lambda: [])
    assert run(tmp_path) == 1
    assert "install espeak-ng, flite or festival" in capfd.readouterr().err


def test_an_earlier_classifier_for_other_phrases_does_not_fit(
    tmp_path: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    """It is told before anything is recorded or learned."""
    digits = tmp_path / "digits.npz"
    digits.write_bytes(NUMBERS.read_bytes())
    assert run(tmp_path, "--beside", str(digits)) == 1
    told = capfd.readouterr().err
    assert (
        "digits.npz: the earlier classifier was trained for other phrases; leave --beside" in told
    )
    assert not (tmp_path / "classifier.npz").exists()
    assert not (tmp_path / "cache").exists()
