"""Making training recordings: noises, rooms, sentences, cuts, and a small classifier from them."""

from __future__ import annotations

from pathlib import Path
from shutil import which

import numpy as np
import pytest

from assistant.devices.sound.loudness import rms
from assistant.engine.phrases import normalise
from assistant.errors import Refusal
from assistant.hearing.classifier.classifier import Classifier
from assistant.hearing.classifier.embedding import count_after
from assistant.hearing.classifier.fitting import Course
from assistant.hearing.endpointing import CHUNK
from assistant.hearing.person import recordings
from assistant.hearing.person.adapting import adapt, checked_recording, forget
from assistant.hearing.training import corpus
from assistant.hearing.training.corpus import (
    Example,
    Plan,
    examples,
    noise_cuts,
    piece,
    rows_of,
    takes,
)
from assistant.hearing.training.learning import NONE_LESS, expecting_phrases, learn_classifier
from assistant.hearing.training.noises import TRAINED_ON, Maker, air_line, grinder
from assistant.hearing.training.sentences import negatives, sound_alikes
from assistant.hearing.training.spoiling import LEAD, spoil_speech
from assistant.hearing.training.voices import Speaker, SpeakingManner, all_voices
from assistant.hearing.vocabulary import built_in
from assistant.hearing.waves import (
    RATE,
    Wave,
    band,
    mix,
    read_sound,
    resample_sound,
    speech_level,
    write_sound,
)

PHRASES = ("cut done", "how many left")
needs_espeak = pytest.mark.skipif(not which("espeak-ng"), reason="needs espeak-ng")


def tone(seconds: float, hertz: float = 440.0) -> Wave:
    return np.sin(2 * np.pi * hertz * np.arange(int(seconds * RATE)) / RATE).astype(np.float32)


@pytest.mark.parametrize("kind", [*TRAINED_ON, grinder, air_line])
def test_noises_are_level_and_repeatable(kind: Maker) -> None:
    """Each noise has RMS 1, holds no bad number, and one seed gives one noise."""
    first, again = (kind(np.random.default_rng(3), 20_001) for _ in range(2))
    assert len(first) == 20_001
    assert rms(first) == pytest.approx(1, rel=1e-3)
    np.testing.assert_array_equal(first, again)


@pytest.mark.parametrize("snr", [20.0, 10.0, 0.0, -5.0])
def test_noise_is_mixed_at_the_ratio_asked_for(snr: float) -> None:
    """A ratio in the tables is the ratio in the sound."""
    speech = tone(1.0)
    noise = np.random.default_rng(1).standard_normal(len(speech)).astype(np.float32)
    added = mix(speech, noise, snr) - speech
    assert 20 * np.log10(speech_level(speech) / rms(added)) == pytest.approx(snr, abs=0.1)


def test_another_rate_keeps_the_pitch() -> None:
    """A tone at another rate is the same tone (440 Hz within half a hertz)."""
    there = resample_sound(tone(1.0), RATE, 22_050)
    spectrum = np.abs(np.fft.rfft(there * np.hanning(len(there))))
    assert np.argmax(spectrum) * 22_050 / len(there) == pytest.approx(440, abs=0.5)


def test_a_band_keeps_what_is_in_it() -> None:
    """The middle of a microphone's band passes, what lies far outside does not."""
    inside, outside = band(tone(1.0, 1000), 300, 3400), band(tone(1.0, 50), 300, 3400)
    assert rms(inside) > 0.6
    assert rms(outside) < 0.03


def test_a_spoilt_recording_is_a_microphones() -> None:
    """The speech stands where it is said to stand, in range, with noise before it."""
    made = spoil_speech(np.random.default_rng(4), tone(0.8), 10.0)
    assert np.abs(made.sound).max() <= 1
    assert made.first == int(LEAD * RATE)
    before, during = made.sound[: made.first], made.sound[made.first : made.last]
    assert rms(during) > rms(before) > 0


def test_no_negative_is_a_phrase() -> None:
    """Whatever is drawn, the classifier is never told that a phrase is none."""
    phrases = sorted(built_in())
    made = negatives(np.random.default_rng(1), 600, phrases)
    assert len(made) > 500
    assert not set(made) & set(phrases)


def test_sound_alikes_are_near_but_never_the_word() -> None:
    """Near misses come from the pronouncing dictionary: "load" for "lock", never "lock"."""
    near = sound_alikes("lock")
    assert near
    assert "lock" not in near
    assert "elephant" not in near


def test_other_phrases_and_rounds_leave_takes_as_they_are() -> None:
    """A phrase that is added costs its own recordings only: all others come from the cache."""
    voices = [Speaker("espeak-ng", str(n), lambda text, manner: tone(0.1)) for n in range(9)]
    short = takes(Plan(takes=2, negatives=0, words=0), ["cut done"], voices)
    longer = takes(Plan(takes=3, negatives=4), ["cut done", "say again"], voices)
    assert {take.key for take in short} <= {take.key for take in longer}


def test_single_words_are_none_of_the_phrases() -> None:
    """In every round other words: the phrases' own, and what people say alone."""
    voices = [Speaker("espeak-ng", str(n), lambda text, manner: tone(0.1)) for n in range(9)]
    phrases = ["cut done", "say again"]
    said = takes(Plan(takes=9, negatives=0, words=6), phrases, voices)
    alone = [take for take in said if " " not in take.text]
    assert len(alone) == 9 * 6 == len({take.key for take in alone})
    assert {take.label for take in alone} == {""} and not any(take.talk for take in alone)
    own = [take for take in alone if take.text in {"cut", "done", "say", "again"}]
    assert {take.text for take in own} == {"cut", "done", "say", "again"} and len(own) == 9 * 3
    figures = takes(Plan(takes=9, negatives=0, words=40), ["okay", "stop"], voices)
    assert {take.label for take in figures if take.text in ("okay", "stop")} == {"okay", "stop"}


def test_a_phrase_that_is_said_twice_is_said_in_two_manners() -> None:
    voices = [Speaker("espeak-ng", str(n), lambda text, manner: tone(0.1)) for n in range(9)]
    plan = Plan(takes=5, negatives=0, words=0)
    once = takes(plan, ["cut done", "spindle locked"], voices)
    more = takes(plan, ["cut done", "spindle locked"], voices, {"spindle locked"})
    assert {take.key for take in once} < {take.key for take in more}
    locked = [take for take in more if take.label == "spindle locked"]
    assert len(more) == 15 and len({take.key for take in locked}) == 10


def test_only_talk_is_cut_into_pieces() -> None:
    """A piece of "is the spindle locked or not" may be the phrase itself: such talk, and near
    misses, are heard whole."""
    voices = [Speaker("espeak-ng", "one", tone)]
    phrases = sorted(built_in())
    said = takes(Plan(takes=12, negatives=40), phrases, voices)
    cut = [take for take in said if take.talk]
    assert len(cut) > 50
    for take in cut:
        assert take.label == ""
        assert len(normalise(take.text).split()) > 4
        assert not any(phrase in normalise(take.text) for phrase in phrases)


def test_a_piece_begins_where_it_is_soft() -> None:
    """Words with gaps: every piece begins in a gap; what is shorter than a phrase stays whole."""
    word, gap = tone(0.2), np.zeros(RATE // 5, np.float32)
    talk = np.concatenate([gap, *[word, gap] * 5])
    for seed in range(20):
        made = piece(np.random.default_rng(seed), talk)
        assert 0.25 * RATE < len(made) <= 2.8 * RATE
        assert rms(made[:320]) < 0.1
    np.testing.assert_array_equal(piece(np.random.default_rng(1), word), word)


def test_a_headset_has_no_room_round_it() -> None:
    """After the last word nothing rings on, and the loudest of it is not cut off."""
    speech = tone(0.8) * np.linspace(0.2, 1, int(0.8 * RATE), dtype=np.float32)
    for seed in range(12):
        near = spoil_speech(np.random.default_rng(seed), speech, 60.0, near=True)
        after = near.sound[near.last + RATE // 20 : near.last + RATE // 4]
        during = near.sound[near.last - RATE // 10 : near.last]
        assert rms(after) < 0.02 * rms(during)
        assert np.abs(during).max() > 1.3 * rms(during)


@needs_espeak
def test_two_processes_make_what_one_makes(tmp_path: Path) -> None:
    """The order and every number are the plan's, however many work on it."""
    pytest.importorskip("pyopen_wakeword")
    voices = [voice for voice in all_voices() if voice.synthesiser == "espeak-ng"]
    plan = Plan(takes=2, negatives=2, versions=2, negative_versions=1)
    said = takes(plan, ["cut done"], voices)
    one, two = (
        examples(plan, said, tmp_path / str(count), lambda line: None, count) for count in (1, 2)
    )
    assert [each.text for each in one] == [each.text for each in two]
    assert len(one) >= 4
    for first, second in zip(one, two, strict=True):
        np.testing.assert_array_equal(first.cut.vectors, second.cut.vectors)


@pytest.fixture(scope="module")
def small(tmp_path_factory: pytest.TempPathFactory) -> tuple[Classifier, list[Example]]:
    """A classifier for two phrases from a few recordings."""
    pytest.importorskip("pyopen_wakeword")
    voices = [voice for voice in all_voices() if voice.synthesiser == "espeak-ng"]
    plan = Plan(takes=4, negatives=4, versions=2, negative_versions=1)
    cache = tmp_path_factory.mktemp("cache")
    made = examples(plan, takes(plan, PHRASES, voices), cache, lambda line: None)
    course = Course(epochs=60, batch=32, hidden=32)
    return learn_classifier(made, noise_cuts(8, 1), course), made


@needs_espeak
def test_a_small_classifier_learns_its_phrases(small: tuple[Classifier, list[Example]]) -> None:
    """The whole way from text to classifier: phrases it was trained on are told apart, and the
    classifier knows what it was trained for."""
    classifier, made = small
    assert classifier.labels == (*PHRASES, "")
    from assistant.hearing.training.corpus import rows_of

    right = [
        classifier.labels[int(classifier.probabilities(rows_of(e.cut)[-1]).argmax())] == e.label
        for e in made
    ]
    assert len(right) > 15
    assert np.mean(right) > 0.85


@needs_espeak
def test_cuts_hold_run_up_and_trail(small: tuple[Classifier, list[Example]]) -> None:
    """Training cuts are as long as the detector's: run-up, speech, trail, in whole chunks."""
    _, made = small
    for example in made:
        assert example.cut.samples % CHUNK == 0
        assert len(example.cut.vectors) == count_after(example.cut.samples)
        assert example.cut.samples > 0.9 * RATE


def recorded(text: str, pitch: float) -> Wave:
    voice = next(voice for voice in all_voices() if voice.name == "espeak-ng/en-us+f4")
    return voice.say(text, SpeakingManner(0.9, pitch, 1))


@needs_espeak
def test_a_voice_is_learned_and_forgotten(
    small: tuple[Classifier, list[Example]], tmp_path: Path
) -> None:
    """Recordings change the classifier towards the person; forgetting leaves nothing on the
    disk."""
    classifier, _ = small
    sounds = {p: [recorded(p, pitch) for pitch in (0.3, 0.6)] for p in PHRASES}
    own = adapt(classifier, sounds, lambda line: None)
    assert own.labels == classifier.labels
    assert np.abs(own.layers.out - classifier.layers.out).max() > 1e-3
    for phrase, made in sounds.items():
        for number, sound in enumerate(made):
            recordings.keep_recording(
                tmp_path / "voice", phrase, number, (sound * 32767).astype("<i2").tobytes()
            )
    back = recordings.kept_recordings(tmp_path / "voice", list(PHRASES))
    assert {phrase: len(made) for phrase, made in back.items()} == dict.fromkeys(PHRASES, 2)
    learned = tmp_path / "voice" / "classifier.npz"
    learned.write_bytes(b"classifier")
    assert forget(tmp_path / "voice", learned)
    assert not (tmp_path / "voice").exists()
    assert not forget(tmp_path / "voice", learned)


@pytest.mark.parametrize(
    ("sound", "told"),
    [
        (np.zeros(0, np.float32), "say the whole phrase"),
        (np.zeros(2 * RATE, np.float32), "muted"),
        (np.zeros(3600 * RATE // 10, np.float32), "say the phrase alone"),
        (tone(1.0), "no voice"),
    ],
)
def test_recordings_that_will_not_do(sound: Wave, told: str) -> None:
    """Nothing, silence, minutes, a tone: one line with the phrase and the cure."""
    with pytest.raises(Refusal) as refused:
        checked_recording("cut done", sound)
    assert told in str(refused.value)
    assert str(refused.value).startswith("cut done: ")


def test_a_folder_without_recordings(tmp_path: Path) -> None:
    """An empty folder and a file that is no sound are told with their names."""
    with pytest.raises(Refusal, match="no recordings"):
        recordings.kept_recordings(tmp_path, ["cut done"])
    (tmp_path / "cut-done.1.wav").write_text("no sound")
    with pytest.raises(Refusal, match=r"cut-done\.1\.wav: no recording"):
        recordings.kept_recordings(tmp_path, ["cut done"])


def test_a_recording_comes_back(tmp_path: Path) -> None:
    """What is written is read again, within a step of 16 bits."""
    write_sound(tmp_path / "a.wav", tone(0.2) * np.float32(0.5))
    np.testing.assert_allclose(read_sound(tmp_path / "a.wav"), tone(0.2) * 0.5, atol=1e-4)


@needs_espeak
def test_none_is_less_likely_where_most_utterances_are_phrases(
    small: tuple[Classifier, list[Example]],
) -> None:
    """Bayes' rule for another prior: the odds of "none" fall by one factor, the phrases' odds
    against each other stay."""
    classifier, made = small
    rows = np.stack([row for example in made for row in rows_of(example.cut)])
    before, after = (
        classifier.probabilities(rows),
        expecting_phrases(classifier).probabilities(rows),
    )
    none, one, other = classifier.labels.index(""), 0, 1
    odds = (after[:, none] / after[:, one]) / (before[:, none] / before[:, one])
    np.testing.assert_allclose(odds, np.exp(-NONE_LESS), rtol=1e-3)
    kept = (after[:, other] / after[:, one]) / (before[:, other] / before[:, one])
    np.testing.assert_allclose(kept, 1, rtol=1e-3)


@needs_espeak
@pytest.mark.parametrize(("narrow", "high"), [(0.0, True), (1.0, False)])
def test_a_narrow_plan_spoils_sounds_up_to_4_khz(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, narrow: float, *, high: bool
) -> None:
    """As over a telephone: of "six" nothing above 4.2 kHz is left before room and noise."""
    heard: list[Wave] = []
    monkeypatch.setattr(corpus, "spoil_speech", lambda rng, sound, ratio: heard.append(sound))
    monkeypatch.setattr(
        corpus, "borrowed", lambda networks, spoilt: corpus.CutUtterance(np.ones((1, 96)), 9)
    )
    voices = [voice for voice in all_voices() if voice.synthesiser == "espeak-ng"]
    plan = Plan(takes=1, negatives=0, words=0, narrow=narrow)
    (take,) = takes(plan, ["six"], voices)
    corpus._Maker(plan, tmp_path, None).cut(take, 1)  # type: ignore[arg-type]
    spectrum = np.abs(np.fft.rfft(heard[0]))
    above = spectrum[round(len(spectrum) * 4200 / 8000) :].sum() / spectrum.sum()
    assert bool(above > 0.05) is high
