"""The network on the sound: its slopes against finite differences, its file, its verdict."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from assistant.errors import Refusal
from assistant.hearing.classifier.classifier import (
    NONE,
    Classifier,
    load_classifier,
    save_classifier,
)
from assistant.hearing.classifier.contrast import (
    LOCK_OR_GUARD,
    NOISY_DB,
    QUIET_DB,
    USUAL,
    Mixing,
    contrast,
)
from assistant.hearing.classifier.features import COUNT
from assistant.hearing.classifier.fitting import Course, fresh_layers
from assistant.hearing.classifier.sound_network import (
    BANDS,
    LEAST_FRAMES,
    MOST_FRAMES,
    from_values,
    network_outputs,
    normalised,
    outputs_of,
    placed,
)
from assistant.hearing.training.sound_fitting import (
    SoundCourse,
    WindowBatch,
    fit_network,
    fresh_network,
    gradients,
)

SMALL = SoundCourse(steps=400, batch=24, rate=6e-3, channels=(8, 8, 8, 8, 8), seed=4)
LABELS = ("cut done", "guard closed", NONE)


def rising(rng: np.random.Generator, count: int) -> WindowBatch:
    """Sounds that rise, sounds that fall, and hiss, each 60 to 120 frames long."""
    labels = rng.integers(0, 3, count)
    pairs = []
    for label in labels:
        length = int(rng.integers(60, 120))
        frames = rng.normal(0, 0.3, (length, BANDS))
        at = np.linspace(2, BANDS - 3, length)
        band = at if label == 0 else at[::-1]
        if label < 2:
            frames[np.arange(length), band.astype(int)] += 3
        pairs.append(placed(normalised(frames.astype(np.float32))))
    return WindowBatch(
        np.stack([f for f, _ in pairs]),
        np.stack([t for _, t in pairs]),
        labels,
        np.ones(count, np.float32),
    )


def loss(values: list[Any], batch: WindowBatch) -> float:
    """Cross-entropy, weighted, in double precision."""
    network = from_values(values)
    made = network_outputs(network, batch.frames, batch.there).astype(np.float64)
    likely = np.exp(made - made.max(axis=1, keepdims=True))
    likely /= likely.sum(axis=1, keepdims=True)
    own = likely[np.arange(len(likely)), batch.labels]
    return float(-(batch.weights * np.log(own)).sum() / batch.weights.sum())


@pytest.mark.parametrize("which", range(12))
def test_slopes_are_those_of_finite_differences(which: int) -> None:
    """The derivative's definition is the measure: (f(x + h) - f(x - h)) / 2h."""
    rng = np.random.default_rng(which)
    batch = rising(rng, 5)
    batch = replace(batch, weights=rng.uniform(0.2, 1, 5).astype(np.float32))
    course = replace(SMALL, smoothing=0.0)
    values: list[Any] = [v.astype(np.float64) for v in fresh_network(3, course).values()]
    doubled = replace(
        batch, frames=batch.frames.astype(np.float64), there=batch.there.astype(np.float64)
    )
    slopes, _ = gradients(from_values(values), doubled, course)
    for _ in range(4):
        at = tuple(rng.integers(0, n) for n in values[which].shape)
        h = 1e-6
        found = []
        for move in (h, -h):
            moved = [v.copy() for v in values]
            moved[which][at] += move
            found.append(loss(moved, doubled))
        assert slopes[which][at] == pytest.approx(
            (found[0] - found[1]) / (2 * h), rel=0.01, abs=1e-6
        )


def test_it_learns_to_tell_a_rise_from_a_fall_wherever_they_are() -> None:
    network = fit_network(fresh_network(3, SMALL), rising, SMALL)
    unseen = rising(np.random.default_rng(99), 200)
    right = network_outputs(network, unseen.frames, unseen.there).argmax(axis=1) == unseen.labels
    assert right.mean() > 0.9


def test_the_same_seed_makes_the_same_network() -> None:
    short = replace(SMALL, steps=3)
    one, other = (fit_network(fresh_network(3, short), rising, short) for _ in range(2))
    for a, b in zip(one.values(), other.values(), strict=True):
        np.testing.assert_array_equal(a, b)


def test_neither_loudness_nor_microphone_matters() -> None:
    """A gain, or another one in each band, is added to logarithms and falls out."""
    rng = np.random.default_rng(1)
    mels = rng.normal(0, 0.4, (90, BANDS)).astype(np.float32)
    network = fresh_network(3, SMALL)
    louder = mels + rng.uniform(-0.8, 0.8, BANDS).astype(np.float32)
    np.testing.assert_allclose(
        outputs_of([network], mels), outputs_of([network], louder), atol=1e-4
    )


def test_of_a_long_utterance_the_end_counts_and_of_none_nothing() -> None:
    rng = np.random.default_rng(2)
    frames = rng.normal(0, 1, (MOST_FRAMES + 40, BANDS)).astype(np.float32)
    window, there = placed(frames)
    np.testing.assert_array_equal(window, frames[40:])
    assert there.all()
    assert not outputs_of([fresh_network(3, SMALL)], frames[: LEAST_FRAMES - 1]).any()


def classifier(*networks_of: int) -> Classifier:
    course = Course(hidden=8)
    networks = tuple(fresh_network(3, replace(SMALL, seed=seed)) for seed in networks_of)
    return Classifier(
        LABELS,
        np.zeros(COUNT, np.float32),
        np.ones(COUNT, np.float32),
        fresh_layers(COUNT, 3, course),
        networks=networks,
    )


def utterance(rng: np.random.Generator, decibels: float) -> np.ndarray:
    """Mel frames of 0.6 s of something so far over 0.6 s of noise."""
    mels = rng.normal(0, 0.01, (120, BANDS)).astype(np.float32)
    mels[60:] += np.float32(decibels / 10)
    return mels


@pytest.mark.parametrize("decibels", [60.0, 24.5, 21.0, 17.5, 5.0])
def test_the_contrast_is_what_the_voice_stands_over_the_noise(decibels: float) -> None:
    mels = utterance(np.random.default_rng(1), decibels)
    assert contrast(mels) == pytest.approx(decibels, abs=0.2)
    assert contrast(mels + np.float32(3)) == pytest.approx(decibels, abs=0.2)


def test_none_is_the_less_likely_the_nearer_the_noise() -> None:
    steps = [USUAL.at(float(decibels)) for decibels in range(0, 60)]
    assert steps[0] == USUAL.noisy
    assert steps[-1] == USUAL.quiet
    less = [step.none_less for step in steps]
    assert less == sorted(less, reverse=True)
    assert 0 < USUAL.at((QUIET_DB + NOISY_DB) / 2).none_less < USUAL.noisy.none_less


def test_lock_and_guard_get_no_rebate() -> None:
    assert all(LOCK_OR_GUARD.at(float(decibels)).none_less == 0 for decibels in range(0, 60))


@pytest.mark.parametrize("decibels", [60.0, 21.0, 5.0])
@pytest.mark.parametrize("mixing", [USUAL, LOCK_OR_GUARD])
def test_what_networks_say_is_added_and_kept_in_the_file(
    tmp_path: Path, decibels: float, mixing: Mixing
) -> None:
    rng = np.random.default_rng(4)
    row = rng.normal(0, 1, COUNT).astype(np.float32)
    mels = utterance(rng, decibels)
    parts = mixing.at(contrast(mels))
    both = classifier(1, 2)
    said = np.mean([outputs_of([n], mels) for n in both.networks], axis=0)
    wanted = both.probabilities(row) ** parts.layers * np.exp(parts.networks * said)
    wanted[-1] *= np.exp(-parts.none_less)
    found = both.parts(row, mels).mixed(mixing)
    np.testing.assert_allclose(found, wanted / wanted.sum(), atol=1e-5)
    save_classifier(both, tmp_path / "classifier.npz")
    back = load_classifier(tmp_path / "classifier.npz")
    assert len(back.networks) == 2
    np.testing.assert_allclose(back.parts(row, mels).mixed(mixing), found, atol=0.01)


def test_a_classifier_without_networks_hears_as_before(tmp_path: Path) -> None:
    """Such a classifier may lie in a person's own folder, trained before there were networks."""
    save_classifier(classifier(), tmp_path / "classifier.npz")
    with np.load(tmp_path / "classifier.npz") as data:
        parts = {name: data[name] for name in data.files if name != "networks"}
    np.savez(tmp_path / "old.npz", **parts)
    old = load_classifier(tmp_path / "old.npz")
    row, mels = np.ones(COUNT, np.float32), np.ones((90, BANDS), np.float32)
    assert old.networks == ()
    np.testing.assert_array_equal(old.parts(row, mels).mixed(), old.probabilities(row))


@pytest.mark.parametrize(
    ("name", "change"),
    [
        ("network_0_0", lambda v: v[:-1]),
        ("network_0_10", lambda v: v[:, :-1]),
        ("network_0_11", lambda v: v[:-1]),
        ("networks", lambda v: v + 1),
        ("network_0_10", lambda v: v * np.nan),
    ],
)
def test_a_damaged_network_is_refused_with_the_cure(
    tmp_path: Path, name: str, change: object
) -> None:
    file = tmp_path / "classifier.npz"
    save_classifier(classifier(1), file)
    with np.load(file) as data:
        parts = {key: data[key] for key in data.files}
    parts[name] = change(parts[name])  # type: ignore[operator]
    np.savez(file, **parts)
    with pytest.raises(Refusal, match=r"classifier\.npz: no trained classifier .*train one with"):
        load_classifier(file)
