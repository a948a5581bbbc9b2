"""What is learned of a voice beside the classifier: how far the voice detector's doors stand
open."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from shutil import which

import numpy as np
import pytest

from assistant.__main__ import main
from assistant.errors import Refusal
from assistant.files.settings import EarSettings
from assistant.hearing.endpointing import CHUNK, USUAL, Detector, Doors, Ending
from assistant.hearing.opening import open_hearer
from assistant.hearing.person.adapting import checked_recording
from assistant.hearing.person.learned_sound import (
    LearnedSound,
    load_sound,
    of_this_person,
    save_sound,
)
from assistant.hearing.person.phones_of import phones_of
from assistant.hearing.person.voice_doors import WIDEST, doors_for
from assistant.hearing.phones.network import PHONES, WIDTH, PhoneNetwork, shipped
from assistant.hearing.phones.phrase_fit import PhraseFits
from assistant.hearing.recognisers.recogniser import EarUnusable
from assistant.hearing.training.voices import SpeakingManner, espeak_voice
from assistant.hearing.waves import RATE, Wave, resample_sound

needs_espeak = pytest.mark.skipif(not which("espeak-ng"), reason="needs espeak-ng")
PHRASES = ("carry on now", "pin is home", "how many left", "go back one")


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    place = tmp_path / "voice"
    monkeypatch.setenv("TALLYHAND_VOICE", str(place))
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    return place


def utterances(pattern: list[float], doors: Doors) -> int:
    told = iter(pattern)
    detector = Detector(lambda _: next(told), doors)
    found = detector.feed(bytes(2 * CHUNK * len(pattern)))
    return sum(each.kind is not Ending.EARLY for each in found)


def test_wide_doors_let_a_hardly_voiced_phrase_in() -> None:
    """A second at 0.15 in stillness is no voice to the usual doors, and one utterance to wide
    ones."""
    still = [0.007] * 40
    pattern = [*still, *[0.15] * 30, *still]
    assert utterances(pattern, USUAL) == 0
    assert utterances(pattern, WIDEST) == 1


def test_wide_doors_close_where_noise_sounds_like_voice() -> None:
    """Noise that now and then is taken for voice at 0.15 begins no utterance, however wide the
    doors are, and a voice that stands out of it is still found, once."""
    noise = [0.02, 0.15, 0.03, 0.1, 0.02, 0.08] * 20
    assert utterances(noise, WIDEST) == 0
    assert utterances([*noise, *[0.9] * 30, *noise], WIDEST) == 1


def said(name: str, pace: float = 1.0) -> list[Wave]:
    voice = espeak_voice(name)
    spoken = [voice.say(phrase, SpeakingManner(pace, 0.5, 1)) for phrase in PHRASES]
    return [checked_recording(phrase, sound) for phrase, sound in zip(PHRASES, spoken, strict=True)]


@needs_espeak
def test_a_whisper_opens_the_doors_and_a_voice_does_not() -> None:
    """Chosen on recordings: the usual doors for a voice that they find, wider for a whisper that
    they cut in pieces."""
    assert doors_for(said("en-us+f4")) == USUAL
    assert doors_for(said("en-us+whisper")).begins < USUAL.begins


def test_no_recordings_leave_the_doors_alone() -> None:
    """The program as it comes."""
    assert doors_for([]) == USUAL
    assert of_this_person() == LearnedSound()


def test_it_comes_back_from_its_file(folder: Path) -> None:
    """What was learned is there in the next session, and the ear opens with it."""
    pytest.importorskip("pyopen_wakeword")
    save_sound(LearnedSound(WIDEST), folder / "sound.npz")
    assert load_sound(folder / "sound.npz").doors == WIDEST
    assert open_hearer(EarSettings(kind="trained")).notes == ()
    assert main(["voice", "forget"]) == 0
    assert not folder.exists()


@needs_espeak
def test_the_phones_of_a_voice_are_learned_and_belong_to_one_network(folder: Path) -> None:
    """Another take of the voice fits better than before, the file gives the same network back, and
    a program with another network hears as it came."""
    network = shipped()
    spoken = {phrase: [sound] for phrase, sound in zip(PHRASES, strange(1.0), strict=True)}
    own = phones_of(network, spoken, lambda line: None)
    again = dict(zip(PHRASES, strange(1.1), strict=True))
    before, after = fit_of(network, again), fit_of(own, again)
    assert after > before + 0.1, (before, after)
    save_sound(LearnedSound(USUAL, own.stretch, own.layer, network.checksum), folder / "sound.npz")
    back = of_this_person()
    assert back.fits(network)
    assert np.allclose(fit_of(back.put_into(network), again), after)
    later = replace(network, weights=network.weights | {"n0.bias": network.weights["n0.bias"] + 1})
    assert not back.fits(later)
    assert back.put_into(later) is later


def strange(pace: float) -> list[Wave]:
    """A throat far smaller than any of the training."""
    return [resample_sound(sound, RATE, RATE / 2.6) for sound in said("en-us+f4", pace / 2)]


def fit_of(network: PhoneNetwork, spoken: dict[str, Wave]) -> float:
    fits = PhraseFits(PHRASES, network)
    found = [fits.of(fits.hear(np.pad(sound, (6000, 4000)))) for sound in spoken.values()]
    return float(np.mean([each[n] for n, each in enumerate(found) if each is not None]))


@pytest.mark.parametrize(
    "fault", ["text", "empty", "later", "nan", "turned", "three", "lacking", "layer", "hole"]
)
def test_a_file_that_is_none_is_told_in_a_line(folder: Path, fault: str) -> None:
    """No numbers, a later version's, doors that are none: one line with the cure, and no ear."""
    folder.mkdir()
    file = folder / "sound.npz"
    whole = {
        "format": np.array(1), "doors": np.array([0.4, 0.35]), "stretch": np.array(1.0),
        "checksum": np.array(7), "weight": np.zeros((WIDTH, len(PHONES) + 1)),
        "bias": np.zeros(len(PHONES) + 1),
    }  # fmt: skip
    made = {
        "later": {"format": np.array(2), "doors": np.array([0.4, 0.3])},
        "nan": {"format": np.array(1), "doors": np.array([np.nan, 0.3])},
        "turned": {"format": np.array(1), "doors": np.array([0.2, 0.3])},
        "three": {"format": np.array(1), "doors": np.array([0.4, 0.3, 0.2])},
        "lacking": {"format": np.array(1)},
        "layer": {**whole, "weight": np.zeros((3, 3))},
        "hole": {**whole, "bias": np.full(len(PHONES) + 1, np.nan)},
    }
    if fault in made:
        np.savez(file, **made[fault], allow_pickle=False)
    else:
        file.write_bytes(b"no numbers" if fault == "text" else b"")
    with pytest.raises(Refusal) as refused:
        load_sound(file)
    told = str(refused.value)
    assert str(file) in told and "tallyhand voice learn" in told and "\n" not in told
    with pytest.raises(EarUnusable):
        open_hearer(EarSettings(kind="grammar"))
