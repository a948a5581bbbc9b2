"""The trained classifier: one hidden layer from an utterance's features to the phrase that was
said.

Beside the layer there may be networks on the sound itself (`sound_network.py`); what they say is
added before the last step.

A classifier is a file of plain numbers (NumPy's .npz, no pickles); a dozen remembered rows of each
phrase travel in it, so that it can be adapted to a person without the training recordings.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from zipfile import BadZipFile

import numpy as np
import numpy.typing as npt

from assistant.errors import Refusal
from assistant.hearing.classifier.contrast import USUAL, Mixing, contrast
from assistant.hearing.classifier.features import COUNT, Features
from assistant.hearing.classifier.sound_network import Frames, SoundNetwork, from_values, outputs_of

NONE = ""
"""The label of everything that is none of the phrases."""

_FORMAT = 1
_REMEMBERED_STEP = 0.05  # remembered rows are kept in steps of a twentieth of a deviation


@dataclass(frozen=True)
class Layers:
    """Weights of both layers."""

    hidden: Features  # (features, hidden units)
    hidden_bias: Features
    out: Features  # (hidden units, labels)
    out_bias: Features


@dataclass(frozen=True)
class Parts:
    """Outputs before the softmax: the layer's, the networks' where there are any, and the contrast
    that both were heard at."""

    layers: Features
    networks: Features | None
    decibels: float

    def mixed(self, mixing: Mixing = USUAL) -> Features:
        """As `Classifier.probabilities`, of both together."""
        if self.networks is None:
            return softmax(self.layers)
        blend = mixing.at(self.decibels)
        said = blend.layers * self.layers + blend.networks * self.networks
        said[..., -1] -= blend.none_less
        return softmax(said)


@dataclass(frozen=True)
class Classifier:
    """`labels` in the order of the outputs; the last is NONE."""

    labels: tuple[str, ...]
    mean: Features
    deviation: Features
    layers: Layers
    remembered: npt.NDArray[np.int8] = field(default_factory=lambda: np.zeros((0, COUNT), np.int8))
    remembered_labels: npt.NDArray[np.int16] = field(default_factory=lambda: np.zeros(0, np.int16))
    networks: tuple[SoundNetwork, ...] = ()

    def parts(self, rows: Features, mels: Frames) -> Parts:
        """What the layer makes of rows of one utterance, and the networks of its mel frames
        (n, 32)."""
        said = layer_outputs(self.layers, (rows - self.mean) / self.deviation)
        if not self.networks or not len(mels):
            return Parts(said, None, 0.0)
        return Parts(said, outputs_of(self.networks, mels), contrast(mels))

    def probabilities(self, rows: Features) -> Features:
        """(n, labels) for features (n, COUNT), or (labels,) for one row; each row sums to 1."""
        return softmax(layer_outputs(self.layers, (rows - self.mean) / self.deviation))

    def standardised(self) -> Features:
        """The remembered rows, as the layers take them."""
        return self.remembered.astype(np.float32) * np.float32(_REMEMBERED_STEP)


def layer_outputs(layers: Layers, standardised: Features) -> Features:
    """The last layer before the softmax."""
    hidden = np.maximum(standardised @ layers.hidden + layers.hidden_bias, 0)
    return np.asarray(hidden @ layers.out + layers.out_bias, np.float32)


def softmax(values: Features) -> Features:
    """Along the last axis."""
    raised = np.exp(values - values.max(axis=-1, keepdims=True))
    return np.asarray(raised / raised.sum(axis=-1, keepdims=True), np.float32)


def remember(standardised: Features) -> npt.NDArray[np.int8]:
    """Rows in one byte a number."""
    return np.clip(np.round(standardised / _REMEMBERED_STEP), -127, 127).astype(np.int8)


def save_classifier(classifier: Classifier, file: Path) -> None:
    """Write the classifier; half precision is enough and halves the file."""
    file.parent.mkdir(parents=True, exist_ok=True)
    half = {
        "mean": classifier.mean,
        "deviation": classifier.deviation,
        "hidden": classifier.layers.hidden,
        "hidden_bias": classifier.layers.hidden_bias,
        "out": classifier.layers.out,
        "out_bias": classifier.layers.out_bias,
    }
    with file.open("wb") as out:
        np.savez_compressed(
            out,
            format=np.array(_FORMAT),
            labels=np.array(classifier.labels),
            remembered=classifier.remembered,
            remembered_labels=classifier.remembered_labels,
            allow_pickle=False,
            networks=np.array(len(classifier.networks)),
            **{
                name: values.astype(np.float16)
                for name, values in (half | _apart(classifier)).items()
            },
        )


def _apart(classifier: Classifier) -> dict[str, Features]:
    return {
        f"network_{n}_{k}": value
        for n, network in enumerate(classifier.networks)
        for k, value in enumerate(network.values())
    }


def load_classifier(file: Path) -> Classifier:
    """The classifier in a file. Raises Refusal with the cure for one that is none."""
    try:
        with np.load(file, allow_pickle=False) as data:
            parts = {name: data[name] for name in data.files}
        if int(parts["format"]) != _FORMAT:
            raise ValueError(f"format {parts['format']}, this program reads {_FORMAT}")
        return _classifier(parts)
    except (OSError, ValueError, KeyError, EOFError, BadZipFile) as error:
        why = getattr(error, "strerror", None) or error
        raise Refusal(
            f"{file}: no trained classifier ({why})",
            "train one with python -m assistant.hearing.training.train",
        ) from error


def _classifier(parts: dict[str, npt.NDArray[np.generic]]) -> Classifier:
    def number(name: str) -> Features:
        return np.asarray(parts[name], np.float32)

    layers = Layers(number("hidden"), number("hidden_bias"), number("out"), number("out_bias"))
    labels = tuple(str(label) for label in parts["labels"])
    made = Classifier(
        labels,
        number("mean"),
        number("deviation"),
        layers,
        np.asarray(parts["remembered"], np.int8),
        np.asarray(parts["remembered_labels"], np.int16),
        _networks(parts, len(labels)),
    )
    _check(made)
    return made


def _check(made: Classifier) -> None:
    """Raises ValueError for what would fall over, or be sure of nothing, at the first word."""
    layers, phrases, rows = made.layers, len(made.labels), len(made.remembered)
    width = layers.hidden.shape[-1] if layers.hidden.ndim == 2 else 0
    shapes = (
        (layers.hidden, (COUNT, width)), (layers.hidden_bias, (width,)),
        (layers.out, (width, phrases)), (layers.out_bias, (phrases,)),
        (made.mean, (COUNT,)), (made.deviation, (COUNT,)),
        (made.remembered, (rows, COUNT)), (made.remembered_labels, (rows,)),
    )  # fmt: skip
    if not width or any(values.shape != shape for values, shape in shapes):
        raise ValueError("its layers do not fit its phrases")
    numbers = (*vars(layers).values(), made.mean, made.deviation)
    numbers += tuple(each for network in made.networks for each in network.values())
    if not all(np.isfinite(values).all() for values in numbers) or not made.deviation.all():
        raise ValueError("some of its numbers are none")


def _networks(parts: dict[str, npt.NDArray[np.generic]], labels: int) -> tuple[SoundNetwork, ...]:
    """Those in a file; a classifier that was trained before there were any has none."""
    found = []
    for n in range(int(np.asarray(parts.get("networks", 0), np.int64))):
        own = [name for name in parts if name.startswith(f"network_{n}_")]
        values = [np.asarray(parts[f"network_{n}_{k}"], np.float32) for k in range(len(own))]
        found.append(from_values(values))
        if len(found[-1].out_bias) != labels:
            raise ValueError("a network does not fit its phrases")
    return tuple(found)
