"""What was learned of the person's voice beside the classifier, in a file of plain numbers.

The file says its format; one of a later version is refused, one of an earlier version is read.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from zipfile import BadZipFile

import numpy as np
import numpy.typing as npt

from assistant.errors import Refusal
from assistant.hearing.endpointing import USUAL, Doors
from assistant.hearing.model_files import learned_sound, recordings
from assistant.hearing.phones.network import PHONES, WIDTH, Layer, PhoneNetwork

FORMAT = 1

AnyNumbers = npt.NDArray[np.generic]


@dataclass(frozen=True, slots=True)
class LearnedSound:
    """How far the voice detector's doors stand open for this person, and what of the phone network
    is the person's own, where that was learned: the stretch of the bands, the layer of phones, and
    the checksum of the network that both belong to."""

    doors: Doors = USUAL
    stretch: float = 1.0
    layer: Layer | None = None
    checksum: int = 0

    def fits(self, network: PhoneNetwork) -> bool:
        """Whether it was learned by this network, or none was; a later version has another."""
        return self.layer is None or self.checksum == network.checksum

    def put_into(self, network: PhoneNetwork) -> PhoneNetwork:
        """The network as this person is heard best: where that was learned by another, as it is."""
        if self.layer is None or not self.fits(network):
            return network
        return network.for_person(self.stretch, self.layer)


def save_sound(sound: LearnedSound, file: Path) -> None:
    """Write the file, its folder too."""
    file.parent.mkdir(parents=True, exist_ok=True)
    parts = {"format": np.array(FORMAT), "doors": np.array([sound.doors.begins, sound.doors.ends])}
    if sound.layer is not None:
        parts |= {"weight": sound.layer.weight, "bias": sound.layer.bias}
        parts |= {"stretch": np.array(sound.stretch), "checksum": np.array(sound.checksum)}
    with file.open("wb") as out:
        np.savez_compressed(out, **parts, allow_pickle=False)


def load_sound(file: Path) -> LearnedSound:
    """What is in a file. Raises Refusal with the cure for one that can't be read."""
    try:
        with np.load(file, allow_pickle=False) as data:
            parts = {name: data[name] for name in data.files}
        if int(parts["format"]) != FORMAT:
            raise ValueError(f"format {parts['format']}, this program reads {FORMAT}")
        return _taken(parts)
    except (OSError, ValueError, TypeError, KeyError, EOFError, BadZipFile) as error:
        why = getattr(error, "strerror", None) or error
        raise Refusal(
            f"{file}: nothing learned of a voice ({why})",
            f"learn anew: tallyhand voice learn --from {recordings()}",
        ) from error


def of_this_person() -> LearnedSound:
    """What was learned on this machine; a voice that was learned by an earlier version, or none,
    is as the program comes. Raises Refusal."""
    file = learned_sound()
    return load_sound(file) if file.exists() else LearnedSound()


def _taken(parts: dict[str, AnyNumbers]) -> LearnedSound:
    doors = _doors(parts["doors"])
    if "weight" not in parts:
        return LearnedSound(doors)
    layer = Layer(np.asarray(parts["weight"], np.float32), np.asarray(parts["bias"], np.float32))
    stretch = float(np.asarray(parts["stretch"], np.float64))
    if layer.weight.shape != (WIDTH, len(PHONES) + 1) or layer.bias.shape != (len(PHONES) + 1,):
        raise ValueError(f"its layer is {layer.weight.shape}")
    numbers = (layer.weight, layer.bias, np.array(stretch))
    if not all(np.isfinite(each).all() for each in numbers) or not 0.5 <= stretch <= 2:
        raise ValueError("some of its numbers are none")
    return LearnedSound(doors, stretch, layer, int(np.asarray(parts["checksum"], np.int64)))


def _doors(values: AnyNumbers) -> Doors:
    begins, ends = (float(value) for value in np.asarray(values, np.float64))
    if not 0 < ends <= begins < 1:
        raise ValueError(f"its doors are {begins:g} and {ends:g}")
    return Doors(begins, ends)
