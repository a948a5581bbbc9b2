"""Levels, signal to noise, and when the ear is not to be trusted."""

from __future__ import annotations

import numpy as np
import pytest

from assistant.devices.sound import loudness
from assistant.devices.sound.loudness import decibels, rms
from assistant.devices.sound.samples import resample as resampled_pcm
from assistant.hearing.endpointing import Ending, Segment
from assistant.hearing.judging import levels
from assistant.hearing.levels import (
    NoiseMeter,
    Trust,
    clips,
    faint,
    meter,
    noise_now,
    signal_to_noise,
    spoke,
)
from assistant.hearing.waves import RATE, from_pcm, resample_sound, to_pcm


@pytest.mark.parametrize("snr", [-5.0, 0.0, 5.0, 10.0, 20.0])
def test_ratio_is_found_from_the_mixture(snr: float) -> None:
    """The ratio that a voice and a noise were mixed with is found again within half a decibel."""
    rng = np.random.default_rng(7)
    noise = rng.standard_normal(80_000).astype(np.float32) * np.float32(0.01)
    voice = rng.standard_normal(80_000).astype(np.float32) * np.float32(0.01 * 10 ** (snr / 20))
    both = decibels(rms(noise[40_000:] + voice[40_000:]))
    assert signal_to_noise(both, decibels(rms(noise[:40_000]))) == pytest.approx(snr, abs=0.5)


def test_no_voice_has_a_ratio_all_the_same() -> None:
    """A level under the noise is no error."""
    assert signal_to_noise(-50, -40) == pytest.approx(-20)


def test_too_loud_after_commands_that_hardly_stand_out() -> None:
    """Two commands under 3 dB, and the ear is not trusted; one alone may be a mumble."""
    once = spoke(Trust(), -38.5, -40, accepted=True)
    assert not once.too_loud
    assert spoke(once, -38.5, -40, accepted=True).too_loud


def test_too_loud_before_a_word_is_said() -> None:
    """The person's usual voice is known: a louder shop is too loud at once."""
    known = Trust()
    for _ in range(3):
        known = spoke(known, -30, -50, accepted=True)
    assert not noise_now(known, -40).too_loud
    assert noise_now(known, -31).too_loud


def test_trust_comes_back_only_when_it_is_well_clear() -> None:
    """Between 3 and 7 dB nothing changes: the ear does not flutter with each cut."""
    loud = Trust(voices=(-30, -30), snrs=(1, 1), too_loud=True)
    assert noise_now(loud, -35).too_loud
    assert not noise_now(loud, -38).too_loud
    quiet = Trust(voices=(-30, -30), snrs=(20, 20))
    assert not noise_now(quiet, -35).too_loud


def test_talk_of_others_says_nothing_of_the_person() -> None:
    """Refused utterances never change what is known of the voice, nor the verdict."""
    trust = Trust(voices=(-30,), snrs=(15,))
    assert spoke(trust, -39, -40, accepted=False) == trust


def test_a_stranger_has_no_verdict() -> None:
    """Before the first commands nothing is known, and nothing is claimed."""
    assert not noise_now(Trust(), -5).too_loud
    assert Trust().snr is None
    assert meter(-42, None) == "noise -42 dB, voice not measured yet"
    assert meter(None, None) == "noise not measured yet"


def test_the_meter_says_it_in_words() -> None:
    """A line that a person can act on."""
    assert meter(-42, 17.2) == "noise -42 dB, your voice 17 dB over it: trusted"
    assert meter(-20, -1.0, trusted=False) == (
        "noise -20 dB, your voice 1 dB under it: not trusted, use the pedal"
    )


def test_commands_given_while_it_was_loud_do_not_keep_it_loud() -> None:
    """The voice is known without the noise: when that is gone the next command changes nothing."""
    trust = Trust()
    for _ in range(5):
        trust = spoke(trust, -30, -31, accepted=True)
    assert trust.too_loud
    trust = noise_now(trust, -55)
    assert not trust.too_loud
    assert not spoke(trust, -36, -55, accepted=True).too_loud


def noise(seconds: float, level_db: float) -> bytes:
    rng = np.random.default_rng(3)
    sound = rng.standard_normal(round(seconds * RATE)) * 10 ** (level_db / 20)
    return to_pcm(sound.astype(np.float32))


def blocks(pcm: bytes) -> list[bytes]:
    return [pcm[at : at + 640] for at in range(0, len(pcm), 640)]


def test_the_noise_is_measured_between_words() -> None:
    """To half a decibel; a clank does not count, chatter that comes and goes does."""
    gauge = NoiseMeter()
    for block in blocks(noise(3, -40)):
        gauge.feed(block)
    assert gauge.level == pytest.approx(-40, abs=0.5)
    for block in blocks(noise(0.3, -15) + noise(1.5, -40)):
        gauge.feed(block)
    assert gauge.level == pytest.approx(-40, abs=0.5)
    for block in blocks((noise(0.3, -25) + noise(0.3, -40)) * 5):
        gauge.feed(block)
    assert gauge.level == pytest.approx(-25, abs=1)


def test_a_muted_microphone_and_a_whole_recording_tell_no_noise() -> None:
    """Zeros are no quiet shop, and a recording fed at once may hold a voice."""
    gauge = NoiseMeter()
    for block in blocks(bytes(64000)):
        assert gauge.feed(block) == []
    assert gauge.feed(noise(3, -40)) == [] and gauge.level is None


def test_clipping() -> None:
    """Full scale is clipping, a loud voice is not."""
    assert clips(-0.1)
    assert not clips(-3.0)


@pytest.mark.parametrize("clank", (-60, -40, -30, -10, 0))
def test_a_clank_makes_no_faint_voice_louder(clank: float) -> None:
    """However loud it is: no voice is louder than voice and noise together."""
    usual = Trust(voices=(-25.0,) * 3)
    assert faint(usual, -40.0, clank)


def test_the_level_of_a_voice_leaves_out_what_lies_round_it() -> None:
    """Neither the run-up nor the silence at the end makes a voice fainter than it was."""
    pcm = noise(0.5, -60) + noise(1.0, -20) + noise(0.3, -60)
    heard = levels(Segment(Ending.WHOLE, pcm, 2.0, 3.0, 0.3))
    assert heard == (pytest.approx(-20, abs=0.2), pytest.approx(-60, abs=0.2))


def test_a_sine_lies_three_decibels_under_its_peak() -> None:
    """Its root mean square is the peak over the root of two; nothing has a level all the same."""
    sine = to_pcm(np.sin(np.arange(RATE) * np.pi / 8).astype(np.float32))
    assert (loudness.level(sine), loudness.peak(sine)) == pytest.approx((-3.01, 0), abs=0.01)
    for still in (b"", bytes(200)):
        assert loudness.level(still) == loudness.peak(still) == loudness.SILENCE


def test_a_whole_sound_and_a_stream_come_to_another_rate_the_same_way() -> None:
    """One filter: as numbers and as PCM the same, but for the rounding."""
    pcm = noise(0.2, -20)
    streamed = from_pcm(resampled_pcm(pcm, RATE, 11_025))
    whole = resample_sound(from_pcm(pcm), RATE, 11_025)
    assert whole == pytest.approx(streamed[: len(whole)], abs=1 / 32768)
