"""The utterances that the network on the sound is trained on."""

from __future__ import annotations

from pathlib import Path
from shutil import which

import numpy as np
import pytest

from assistant.devices.sound.loudness import rms
from assistant.hearing.classifier.embedding import Embedder, Networks, embed_mels, mels_of
from assistant.hearing.classifier.sound_network import BANDS, MOST_FRAMES, outputs_of
from assistant.hearing.training.corpus import Plan, takes
from assistant.hearing.training.frames import (
    BatchMaker,
    Framed,
    another_voice,
    as_cut,
    framed,
    hidden,
    in_parts,
    noise_frames,
    power,
    sounds_together,
    stretch,
)
from assistant.hearing.training.learning import LossWeights, networks
from assistant.hearing.training.sound_fitting import SoundCourse
from assistant.hearing.training.voices import all_voices
from assistant.hearing.waves import RATE, mix, to_pcm
from tests.lanes import in_full, length

needs_espeak = pytest.mark.skipif(not which("espeak-ng"), reason="needs espeak-ng")
PHRASES = ("cut done", "how many left")


@pytest.fixture(scope="module")
def two() -> Networks:
    pytest.importorskip("pyopen_wakeword")
    return Networks()


def mels(two: Networks, sound: np.ndarray) -> np.ndarray:
    return mels_of(two, to_pcm(np.clip(sound, -1, 1).astype(np.float32)))


def test_powers_of_mel_frames_add_up(two: Networks) -> None:
    """Two sounds put together as samples, and as mel frames: the measure is the former. Single
    moments differ by the phases, their mean does not."""
    rng = np.random.default_rng(1)
    t = np.arange(2 * RATE) / RATE
    chirp = 0.1 * np.sin(2 * np.pi * (300 + 700 * t) * t) * (0.6 + 0.4 * np.sin(9 * t))
    for level in (0.3, 0.03, 0.003):
        noise = rng.normal(0, level, len(t))
        wanted = mels(two, chirp + noise)
        made = sounds_together(mels(two, chirp), mels(two, noise))
        assert abs(float(np.mean(made - wanted))) < 0.06  # of 10 dB
        assert float(np.mean(np.abs(made - wanted))) < 0.15


@pytest.mark.parametrize("snr", [20.0, 0.0])
def test_ratios_are_those_of_samples(two: Networks, snr: float) -> None:
    """The ratio of two powers of mel frames is the ratio that the samples were mixed with, for
    sounds of the same colour."""
    rng = np.random.default_rng(2)
    speech, noise = rng.normal(0, 0.1, (2, RATE)).astype(np.float32)
    over = np.asarray(mix(speech, noise, snr) - speech, np.float32)
    ratio = power(mels(two, speech)) / power(mels(two, over))
    assert 10 * np.log10(ratio) == pytest.approx(20 * np.log10(rms(speech) / rms(over)), abs=0.5)


def test_an_embedder_gives_the_mel_frames_of_the_whole(two: Networks) -> None:
    """Live, in pieces of any size, and at once: the same frames, and the same embeddings."""
    rng = np.random.default_rng(3)
    pcm = to_pcm(rng.normal(0, 0.1, 30_000).astype(np.float32))
    live = Embedder(two)
    for at in range(0, len(pcm), 1234):
        live.feed(pcm[at : at + 1234])
    whole = mels_of(two, pcm)
    assert len(whole) == len(live.mels)
    np.testing.assert_allclose(live.mels, whole, atol=1e-4)
    np.testing.assert_allclose(live.vectors, embed_mels(two, whole), atol=1e-2)


def made(label: str, text: str, level: float = 0.0) -> Framed:
    rng = np.random.default_rng(5)
    rows = rng.normal(-3, 0.2, (180, BANDS))
    rows[55:130] = rng.normal(level, 0.2, (75, BANDS))
    return Framed(rows.astype(np.float16), 55.0, 130.0, label, text)


def test_a_cut_holds_the_speech_and_ends_in_the_silence_after_it() -> None:
    """The end of the speech is never cut off; its beginning only after our own voice."""
    rng, late = np.random.default_rng(6), 0
    for _ in range(300):
        cut = as_cut(rng, made("cut done", "cut done"))
        speech = int((cut.mean(axis=1) > -1.5).sum())
        assert speech == 75
        assert (cut[-4:].mean(axis=1) < -1.5).all()
        late += len(cut) < 180 - 55 - 9
    assert 0 < late < 90


def test_noise_lies_over_speech_as_loud_as_was_drawn(monkeypatch: pytest.MonkeyPatch) -> None:
    """At 0 dB the noise between speech and trail is as loud as the speech is alone."""
    from assistant.hearing.training import frames

    monkeypatch.setattr(frames, "snr_of", lambda rng: 0.0)
    monkeypatch.setattr(frames, "hidden", lambda rng, rows: rows)
    monkeypatch.setattr(frames, "normalised", lambda rows: rows)
    monkeypatch.setattr(frames, "another_voice", lambda rng, rows: rows)
    speech = made("cut done", "cut done", level=1.0)
    noise = [np.full((600, BANDS), -2.0, np.float16)]
    drawn = BatchMaker([speech], [1.0], ("cut done", ""), noise, (0, 0.5), parts=0)
    batch = drawn.draw(np.random.default_rng(7), 1)
    rows = batch.frames[0][batch.there[0] > 0]
    assert power(rows[-4:]) == pytest.approx(speech.power, rel=0.1)
    assert rows.max(axis=0).mean() > rows[-1].mean() + 0.2


def test_batches_hold_labels_weights_and_noise_alone() -> None:
    some = [made("cut done", "cut done"), made("", "cut")]
    noise = [np.random.default_rng(8).normal(0, 1, (600, BANDS)).astype(np.float16)]
    drawn = BatchMaker(some, [1.0, 0.3], ("cut done", ""), noise, (2, 0.5))
    assert len(drawn) == 4
    batch = drawn.draw(np.random.default_rng(9), 400)
    weights = batch.weights.astype(float).round(3).tolist()
    told = set(zip(batch.labels.tolist(), weights, strict=True))
    assert told == {(0, 1.0), (1, 0.3), (1, 0.5)}
    assert 60 < int((batch.labels == 0).sum()) < 140
    assert batch.frames.shape == (400, MOST_FRAMES, BANDS)


def test_parts_of_phrases_are_never_a_whole_one() -> None:
    """A part holds less of the speech than all of it, or the sounds of two phrases."""
    rng = np.random.default_rng(11)
    rows = rng.normal(-3, 0.1, (190, BANDS))
    ramps = []
    for sign in (1, -1):
        speech = rows.copy()
        speech[55:135] = sign * np.linspace(-1, 1, 80)[:, None] + 2
        label = f"phrase {sign}"
        ramps.append(Framed(speech.astype(np.float16), 55.0, 135.0, label, label))
    lengths = []
    for _ in range(300):
        part = in_parts(rng, ramps[0], ramps[1])
        voiced = part[part.mean(axis=1) > 0].mean(axis=1)
        rising = int((np.diff(voiced) > 0).sum())
        falling = int((np.diff(voiced) < 0).sum())
        assert rising < 70
        lengths.append(len(voiced))
        assert part.shape[1] == BANDS
        assert falling == 0 or rising + falling > 20
        assert (part[-4:].mean(axis=1) < -1).all()
    assert min(lengths) < 30
    assert max(lengths) > 60


def test_talk_is_another_piece_each_time() -> None:
    rng = np.random.default_rng(12)
    rows = rng.normal(-3, 0.1, (760, BANDS))
    rows[55:705] = np.linspace(1, 4, 650)[:, None]
    talk = Framed(rows.astype(np.float16), 55.0, 705.0, "", "many words", talk=True)
    pieces = [as_cut(rng, talk) for _ in range(100)]
    voiced = [cut[cut.mean(axis=1) > 0].mean(axis=1) for cut in pieces]
    assert all(20 <= len(v) <= 212 for v in voiced)
    assert len({round(float(v[0]), 1) for v in voiced}) > 15


def test_another_voice_says_the_same_at_another_pace_and_pitch() -> None:
    """A single tone stays one tone; the length and the band change, within what people differ."""
    rows = np.full((120, BANDS), -2, np.float32)
    rows[30:90, 16] = 4
    found = [another_voice(np.random.default_rng(n), rows) for n in range(60)]
    lengths = [int((f.max(axis=1) > 0).sum()) for f in found]
    bands = [int(f.max(axis=0).argmax()) for f in found]
    assert min(lengths) == pytest.approx(52, abs=4)
    assert max(lengths) == pytest.approx(70, abs=4)
    assert 12 <= min(bands) < 16 < max(bands) <= 20
    assert all(f.max() <= 4 and f.min() >= -2 for f in found)


def test_short_noise_is_repeated_and_long_noise_cut() -> None:
    rng = np.random.default_rng(10)
    for frames in (20, 600):
        noise = rng.normal(0, 1, (frames, BANDS)).astype(np.float16)
        assert stretch(rng, noise, 90).shape == (90, BANDS)


def test_what_is_hidden_is_hidden_in_a_copy() -> None:
    rows = np.ones((100, BANDS), np.float32)
    shares = [float((hidden(np.random.default_rng(n), rows) == 0).mean()) for n in range(200)]
    assert rows.all()
    assert 60 < sum(share == 0 for share in shares) < 140
    assert max(shares) < 0.6


@pytest.mark.parametrize(
    ("label", "text", "weight"),
    [
        ("cut done", "cut done", 1.0),
        ("", "cut", 0.7),
        ("", "cut gone", 0.1),
        ("", "Cut gone!", 0.1),
        ("", "the weather is fine", 0.4),
    ],
)
def test_what_each_kind_of_utterance_counts(label: str, text: str, weight: float) -> None:
    assert LossWeights(near=0.1, word=0.7, other=0.4).of(label, text, PHRASES) == weight


@needs_espeak
@pytest.mark.longer
def test_from_text_to_networks(tmp_path: Path, two: Networks) -> None:
    """The whole way, in two processes and in one: at full length phrases are told apart.
    That a network learns is asked every day in test_sound_network.py."""
    voices = [voice for voice in all_voices() if voice.synthesiser == "espeak-ng"]
    plan = Plan(takes=length(4, 6), negatives=3, words=1, framed=length(1, 2))
    said = takes(plan, PHRASES, voices)
    found, again = (
        framed(plan, said, tmp_path / "cache", lambda line: None, count) for count in (2, 1)
    )
    assert [e.text for e in found] == [e.text for e in again]
    for one, other in zip(found, again, strict=True):
        np.testing.assert_array_equal(one.mels, other.mels)
    lines: list[str] = []
    labels = (*PHRASES, "")
    channels = (16, 16, 24, 24, 24)
    course = SoundCourse(steps=length(40, 500), batch=32, rate=6e-3, keep=0.9, channels=channels)
    fitted = networks(found, noise_frames(20, 1), labels, course, lines.append)
    assert len(lines) == len(fitted) == 2
    assert not np.array_equal(fitted[0].out, fitted[1].out)
    between = [
        PHRASES[int(outputs_of(fitted, e.mels.astype(np.float32))[:2].argmax())] == e.label
        for e in found
        if e.label
    ]
    assert len(between) > 4
    if in_full():
        assert np.mean(between) > 0.9
