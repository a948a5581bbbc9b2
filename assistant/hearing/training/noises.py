"""Noises of a shop, made by calculation: nothing recorded, nothing licensed.

Each maker takes a random generator and a number of samples at 16 kHz and gives a sound of
RMS 1 (clanks included, over the whole length). The figures (spindle speeds, teeth, strokes a
minute) are common practice of small shops; each call draws its own.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from assistant.devices.sound.loudness import rms
from assistant.hearing.waves import RATE, Wave, band

Random = np.random.Generator
Maker = Callable[[Random, int], Wave]


def _level(sound: Wave) -> Wave:
    return (sound / max(rms(sound), 1e-9)).astype(np.float32)


def _white(rng: Random, count: int) -> Wave:
    return rng.standard_normal(count).astype(np.float32)


def coloured(rng: Random, count: int, slope: float) -> Wave:
    """Noise whose power falls by `slope` * 3 dB an octave: 0 white, 1 pink, 2 brown."""
    spectrum = np.fft.rfft(_white(rng, count))
    f = np.maximum(np.fft.rfftfreq(count, 1 / RATE), 20)
    return _level(np.fft.irfft(spectrum / f ** (slope / 2), count).astype(np.float32))


def _tone(rng: Random, count: int, frequency: float, wander: float = 0.002) -> Wave:
    drift = np.cumsum(rng.standard_normal(count // 1600 + 2)) * wander
    bend = np.interp(np.arange(count), np.arange(len(drift)) * 1600, drift)
    phase = 2 * np.pi * np.cumsum(frequency * (1 + bend)) / RATE
    return np.sin(phase + rng.uniform(0, 6)).astype(np.float32)


def _harmonics(rng: Random, count: int, base: float, number: int, fall: float) -> Wave:
    total = np.zeros(count, np.float32)
    for k in range(1, number + 1):
        if base * k < RATE / 2:
            strength = rng.uniform(0.3, 1.0) / k**fall
            total += np.float32(strength) * _tone(rng, count, base * k)
    return _level(total)


def mill(rng: Random, count: int) -> Wave:
    """A cutter of 2 to 8 teeth at 80 to 1500 turns a minute: tooth blows, gears, chips."""
    turns = rng.uniform(80, 1500) / 60
    teeth = rng.integers(2, 9)
    blows = (0.5 + 0.5 * _tone(rng, count, turns * teeth)) ** rng.integers(1, 6)
    runout = 1 + rng.uniform(0, 0.6) * _tone(rng, count, turns)
    chips = band(_white(rng, count), rng.uniform(300, 1500), rng.uniform(2500, 7000))
    gears = _harmonics(rng, count, rng.uniform(80, 400), 12, rng.uniform(0.5, 1.5))
    return _level(chips * blows * runout * rng.uniform(0.4, 1.5) + gears * rng.uniform(0.3, 1))


def chatter(rng: Random, count: int) -> Wave:
    """A cut that chatters: a loud ringing at 300 to 2500 Hz that comes and goes."""
    ring = _harmonics(rng, count, rng.uniform(300, 2500), 3, 1.0)
    swell = np.clip(coloured(rng, count, 2.0) + 0.5, 0, 2)
    return _level(ring * swell + 0.6 * mill(rng, count))


def saw(rng: Random, count: int) -> Wave:
    """A band saw: the teeth's hiss, the weld's tick once a turn of the blade."""
    hiss = band(_white(rng, count), rng.uniform(500, 2000), 7500)
    tick = (0.5 + 0.5 * _tone(rng, count, rng.uniform(0.8, 3))) ** 20
    motor = _harmonics(rng, count, rng.choice([50.0, 60.0]), 8, 1.0)
    return _level(hiss * (0.6 + tick) + motor * rng.uniform(0.2, 0.8))


def compressor(rng: Random, count: int) -> Wave:
    """A piston compressor: 8 to 20 strokes a second, a motor's hum, valves."""
    stroke = rng.uniform(8, 20)
    thump = (0.5 + 0.5 * _tone(rng, count, stroke)) ** 6 * band(_white(rng, count), 40, 500)
    valves = (0.5 + 0.5 * _tone(rng, count, stroke)) ** 12 * band(_white(rng, count), 1000, 5000)
    hum = _harmonics(rng, count, rng.choice([50.0, 60.0]), 10, 0.8)
    return _level(3 * _level(thump) + rng.uniform(0.2, 1) * _level(valves) + hum)


def fan(rng: Random, count: int) -> Wave:
    """Air moved by a fan: between pink and brown, with the blades' hum."""
    air = coloured(rng, count, rng.uniform(0.7, 1.8))
    return _level(air + 0.4 * _harmonics(rng, count, rng.uniform(40, 180), 5, 1.2))


def clanks(rng: Random, count: int) -> Wave:
    """Spanners, dropped stock and vice handles over a quiet floor: short inharmonic rings."""
    total = 0.05 * coloured(rng, count, 1.0)
    for _ in range(max(1, rng.poisson(1.5 * count / RATE))):
        start = int(rng.integers(0, count))
        length = min(count - start, int(rng.uniform(0.05, 0.6) * RATE))
        total[start : start + length] += rng.uniform(0.3, 2) * _ring(rng, length)
    return _level(total)


def _ring(rng: Random, length: int) -> Wave:
    t = np.arange(length) / RATE
    rings = sum(
        rng.uniform(0.2, 1) * np.sin(2 * np.pi * f * t) * np.exp(-t * rng.uniform(8, 60))
        for f in rng.uniform(300, 6500, rng.integers(3, 9))
    )
    blow = rng.standard_normal(length) * np.exp(-t * 200)
    return np.asarray(rings + blow, np.float32)


def air_line(rng: Random, count: int) -> Wave:
    """An air gun: bursts of hiss above 1.5 kHz."""
    bursts = np.clip(coloured(rng, count, 2.0) * 2 + 0.3, 0, 1)
    return _level(band(_white(rng, count), 1500, 7500) * bursts + 0.02 * _white(rng, count))


def grinder(rng: Random, count: int) -> Wave:
    """A bench grinder: a whine with harmonics, and the stone on steel now and then."""
    whine = _harmonics(rng, count, rng.uniform(95, 120) * rng.integers(2, 6), 10, 0.6)
    touch = np.clip(coloured(rng, count, 2.0), 0, 2)
    return _level(whine + touch * band(_white(rng, count), 1200, 7000) * rng.uniform(1, 3))


def shop(rng: Random, count: int) -> Wave:
    """Two machines, a fan and clanks at once."""
    machines = rng.choice(len(MACHINES), 2, replace=False)
    parts = [MACHINES[i](rng, count) * rng.uniform(0.4, 1) for i in machines]
    return _level(sum(parts, 0.4 * fan(rng, count) + 0.4 * clanks(rng, count)))


def unnamed(rng: Random, count: int) -> Wave:
    """A machine of no kind: noise of any colour that beats at any rate, and a whine or none."""
    spectrum = np.fft.rfft(_white(rng, count))
    octaves = np.log2(np.maximum(np.fft.rfftfreq(count, 1 / RATE), 31) / 31)
    gains = np.interp(octaves, np.linspace(0, 8, 12), rng.uniform(-15, 15, 12))
    hiss = _level(np.fft.irfft(spectrum * 10 ** (gains / 20), count).astype(np.float32))
    beat = (0.5 + 0.5 * _tone(rng, count, 10 ** rng.uniform(-0.3, 1.9))) ** rng.uniform(0.5, 6)
    whine = _harmonics(rng, count, 10 ** rng.uniform(1.6, 3.1), int(rng.integers(1, 13)), 0.7)
    depth = rng.uniform(0, 1)
    return _level(hiss * (1 - depth + depth * beat) + whine * rng.uniform(0, 1.2) ** 2)


def white(rng: Random, count: int) -> Wave:
    """White noise."""
    return _level(_white(rng, count))


def pink(rng: Random, count: int) -> Wave:
    """Pink noise."""
    return coloured(rng, count, 1.0)


MACHINES: tuple[Maker, ...] = (mill, chatter, saw, compressor)
TRAINED_ON: tuple[Maker, ...] = (*MACHINES, fan, clanks, shop, unnamed, unnamed, white, pink)
"""`grinder` and `air_line` are kept for the benchmark: never trained on."""
