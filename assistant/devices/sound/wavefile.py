"""Reads WAV files of any width, rate and number of channels.

After "Multiple channel audio data and WAVE files" (Microsoft, 2001) for the chunks, PCM (1),
IEEE float (3) and the extensible form (0xFFFE). The standard library reads no floats and,
before Python 3.12, no extensible form.
"""

from __future__ import annotations

import array
import math
import struct
import sys
from dataclasses import dataclass

from assistant.devices.sound.samples import as_bytes, mono

PCM, FLOAT, EXTENSIBLE = 1, 3, 0xFFFE


class WaveError(ValueError):
    """The bytes are no WAV file that can be read; the message says what is wrong."""


@dataclass(frozen=True, slots=True)
class WaveFile:
    """The samples as they stand in the file."""

    coding: int  # PCM or FLOAT
    channels: int
    rate: int
    width: int  # bytes a sample
    data: bytes

    @property
    def seconds(self) -> float:
        """How long it plays, in seconds."""
        return len(self.data) / (self.width * self.channels * self.rate)

    def mono16(self) -> bytes:
        """Mono 16 bit PCM at the file's own rate."""
        return mono(_to_16(self.data, self.coding, self.width), self.channels)


def read_wave(raw: bytes) -> WaveFile:
    """Take a WAV file apart. Raises WaveError."""
    if len(raw) < 12 or raw[:4] != b"RIFF" or raw[8:12] != b"WAVE":
        raise WaveError("not a WAV file")
    chunks = _chunks(raw)
    if b"fmt " not in chunks or b"data" not in chunks:
        raise WaveError("a WAV file without a format or without samples")
    coding, channels, rate, width = _format(chunks[b"fmt "])
    data = chunks[b"data"]
    return WaveFile(
        coding, channels, rate, width, data[: len(data) - len(data) % (width * channels)]
    )


def _chunks(raw: bytes) -> dict[bytes, bytes]:
    """The first chunk of each name; one written to a pipe may claim more than there is."""
    found: dict[bytes, bytes] = {}
    at = 12
    while at + 8 <= len(raw):
        name, size = raw[at : at + 4], struct.unpack_from("<I", raw, at + 4)[0]
        found.setdefault(name, raw[at + 8 : at + 8 + size])
        at += 8 + size + size % 2
    return found


def _format(chunk: bytes) -> tuple[int, int, int, int]:
    if len(chunk) < 16:
        raise WaveError("a WAV file with half a format chunk")
    coding, channels, rate, _, _, bits = struct.unpack_from("<HHIIHH", chunk)
    if coding == EXTENSIBLE and len(chunk) >= 26:
        coding = struct.unpack_from("<H", chunk, 24)[0]
    width = (bits + 7) // 8
    known = {PCM: (1, 2, 3, 4), FLOAT: (4, 8)}
    if width not in known.get(coding, ()):
        raise WaveError(f"a WAV file coded as {coding} with {bits} bits; save it as 16 bit PCM")
    if not 1 <= channels <= 64 or not 1000 <= rate <= 768000:
        raise WaveError(f"a WAV file with {channels} channels at {rate} Hz")
    return coding, channels, rate, width


def _to_16(data: bytes, coding: int, width: int) -> bytes:
    if coding == FLOAT:
        return _floats(data, "f" if width == 4 else "d")
    if width == 1:
        return as_bytes(array.array("h", ((b - 128) << 8 for b in data)))
    if width == 2:
        return data
    # The two upper bytes of each sample are the sample in 16 bits.
    out = bytearray(len(data) // width * 2)
    out[0::2], out[1::2] = data[width - 2 :: width], data[width - 1 :: width]
    return bytes(out)


def _floats(data: bytes, kind: str) -> bytes:
    numbers = array.array(kind, data)
    if sys.byteorder == "big":
        numbers.byteswap()
    # A file may hold what is no number: not a sample then.
    whole = (0.0 if math.isnan(x) else 32767 * x for x in numbers)
    return as_bytes(array.array("h", (round(max(-32768.0, min(32767.0, x))) for x in whole)))
