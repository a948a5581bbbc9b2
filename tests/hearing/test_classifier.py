"""The classifier: its file, its fitting, what it does with a file that is none."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from assistant.errors import Refusal
from assistant.hearing.classifier.classifier import (
    Classifier,
    Layers,
    layer_outputs,
    load_classifier,
    remember,
    save_classifier,
)
from assistant.hearing.classifier.features import COUNT, Features
from assistant.hearing.classifier.fitting import Course, fit_layers, fresh_layers
from assistant.hearing.training.learning import beside

SHORT = Course(epochs=30, batch=32, hidden=16, seed=4)


def two_heaps(seed: int) -> tuple[Features, np.ndarray[tuple[int], np.dtype[np.int64]]]:
    """Rows of two kinds that only the product of two features tells apart."""
    rng = np.random.default_rng(seed)
    rows = rng.standard_normal((400, 6)).astype(np.float32)
    return rows, (rows[:, 0] * rows[:, 1] > 0).astype(np.int64)


def classifier() -> Classifier:
    layers = fresh_layers(COUNT, 3, SHORT)
    rng = np.random.default_rng(9)
    rows = rng.standard_normal((10, COUNT)).astype(np.float32)
    mean, deviation = np.zeros(COUNT, np.float32), np.ones(COUNT, np.float32)
    labels = ("cut done", "say again", "")
    return Classifier(
        labels, mean, deviation, layers, remember(rows), np.arange(10, dtype=np.int16) % 3
    )


def test_fitting_learns_what_no_straight_line_can_tell() -> None:
    """The hidden layer is really fitted: two heaps told apart by a product, on unseen rows."""
    rows, labels = two_heaps(1)
    course = Course(epochs=150, batch=64, hidden=32, blur=0.05, keep=0.9, rate=5e-3)
    layers = fit_layers(fresh_layers(6, 2, course), rows, labels, np.ones(400, np.float32), course)
    unseen, wanted = two_heaps(2)
    assert (layer_outputs(layers, unseen).argmax(axis=1) == wanted).mean() > 0.9


def test_one_seed_gives_one_classifier() -> None:
    """Training is repeatable to the last figure."""
    rows, labels = two_heaps(1)
    weights = np.ones(400, np.float32)
    first, second = (
        fit_layers(fresh_layers(6, 2, SHORT), rows, labels, weights, SHORT) for _ in range(2)
    )
    np.testing.assert_array_equal(first.hidden, second.hidden)


def test_a_classifier_comes_back_from_its_file(tmp_path: Path) -> None:
    """What was saved is what is loaded, within half precision."""
    made, file = classifier(), tmp_path / "deep" / "classifier.npz"
    save_classifier(made, file)
    back = load_classifier(file)
    rows = np.random.default_rng(2).standard_normal((5, COUNT)).astype(np.float32)
    assert back.labels == made.labels
    np.testing.assert_allclose(back.probabilities(rows), made.probabilities(rows), atol=0.02)
    np.testing.assert_array_equal(back.remembered, made.remembered)


def test_probabilities_add_up() -> None:
    """One row or many: each sums to one."""
    rows = np.random.default_rng(2).standard_normal((5, COUNT)).astype(np.float32)
    np.testing.assert_allclose(classifier().probabilities(rows).sum(axis=1), 1, atol=1e-5)
    assert classifier().probabilities(rows[0]).shape == (3,)


def test_an_earlier_classifier_beside_it_counts_as_much() -> None:
    """Two classifiers of one size, standardised differently: the outputs are the mean of both."""
    first, rng = classifier(), np.random.default_rng(11)
    second = replace(
        classifier(),
        mean=rng.standard_normal(COUNT).astype(np.float32),
        deviation=rng.uniform(0.5, 2, COUNT).astype(np.float32),
        layers=fresh_layers(COUNT, 3, replace(SHORT, seed=5)),
    )
    rows = rng.standard_normal((5, COUNT)).astype(np.float32)
    wanted = sum(
        layer_outputs(each.layers, (rows - each.mean) / each.deviation) for each in (first, second)
    )
    both = beside(first, second)
    found = layer_outputs(both.layers, (rows - both.mean) / both.deviation)
    np.testing.assert_allclose(found, wanted / 2, atol=1e-4)
    with pytest.raises(ValueError, match="other phrases"):
        beside(first, replace(second, labels=("cut done", "cut gone", "")))


def broken(file: Path, kind: str) -> None:
    match kind:
        case "missing":
            return
        case "empty":
            file.write_bytes(b"")
        case "text":
            file.write_text("this is no classifier\n")
        case "other":
            np.savez(file, format=np.array(1), labels=np.array(["a", ""]))
        case "future":
            np.savez(file, format=np.array(99))
        case "misfit":
            made = classifier()
            layers = Layers(made.layers.hidden[:9], *list(vars(made.layers).values())[1:])
            save_classifier(Classifier(made.labels, made.mean, made.deviation, layers), file)
        case "hole" | "still" | "short" | "forgetful":
            file_with(file, kind)
        case "cut off":
            save_classifier(classifier(), file)
            file.write_bytes(file.read_bytes()[:500])


def file_with(file: Path, kind: str) -> None:
    """A classifier with a number that is none, a deviation of nought, a bias or a mean too
    short."""
    save_classifier(classifier(), file)
    with np.load(file) as data:
        whole = {name: data[name] for name in data.files}
    spoilt = {
        "hole": {"out_bias": whole["out_bias"] * np.nan},
        "still": {"deviation": whole["deviation"] * 0},
        "short": {"mean": whole["mean"][:-1]},
        "forgetful": {"remembered_labels": np.zeros(3, np.int16)},
    }
    np.savez(file, **(whole | spoilt[kind]))


@pytest.mark.parametrize(
    "kind",
    ["missing", "empty", "text", "other", "future", "misfit", "cut off",
     "hole", "still", "short", "forgetful"],
)  # fmt: skip
def test_a_file_that_is_no_classifier(tmp_path: Path, kind: str) -> None:
    """One line with the file and the cure, whatever is wrong with it."""
    file = tmp_path / "classifier.npz"
    broken(file, kind)
    with pytest.raises(Refusal) as refused:
        load_classifier(file)
    assert str(file) in str(refused.value)
    assert "\n" not in str(refused.value)
