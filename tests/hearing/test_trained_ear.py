"""The trained ear behind the protocol, with the classifier that comes with the program."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from shutil import which
from types import SimpleNamespace
from unittest.mock import patch

import numpy as np
import pytest

from assistant.engine.events import Command
from assistant.engine.phrases import AWAITING, CONFIRMATIONS
from assistant.files.settings import EarSettings
from assistant.hearing.classifier.classifier import Classifier, load_classifier
from assistant.hearing.classifier.contrast import LOCK_OR_GUARD, USUAL, Mixing
from assistant.hearing.classifier.durations import usual_lengths
from assistant.hearing.endpointing import TRAIL_S, Detector, Ending, silero
from assistant.hearing.judging import Hearer
from assistant.hearing.model_files import NUMBERS, SHIPPED, classifier_file
from assistant.hearing.phones.phrase_fit import PhraseFits
from assistant.hearing.recognisers.recogniser import EarUnusable, Guess
from assistant.hearing.recognisers.trained import TrainedEar
from assistant.hearing.spoken_numbers import DIGITS
from assistant.hearing.training.noises import mill, shop
from assistant.hearing.training.spoiling import spoil_speech
from assistant.hearing.training.voices import SpeakingManner, all_voices
from assistant.hearing.vocabulary import built_in
from assistant.hearing.waves import to_pcm
from tests.lanes import in_full, length, of_share

needs_flite = pytest.mark.skipif(not which("flite"), reason="needs flite")


@pytest.fixture(scope="module")
def ear() -> TrainedEar:
    pytest.importorskip("pyopen_wakeword")
    return TrainedEar(SHIPPED)


def said(text: str, speaker: str, seed: int, snr: float = 30.0) -> bytes:
    voice = next(voice for voice in all_voices() if voice.name == f"flite/{speaker}")
    sound = voice.say(text, SpeakingManner(1.0, 0.5, seed))
    return to_pcm(spoil_speech(np.random.default_rng([6, seed]), sound, snr, (mill,)).sound)


def heard(ear: TrainedEar, pcm: bytes) -> list[tuple[str, bool]]:
    hearer = Hearer(ear, Detector(silero()), EarSettings())
    found = hearer.feed(pcm) + hearer.finish()
    return [(each.text, each.accepted) for each in found]


def to_be_heard() -> set[str]:
    """All phrases but those that wait for the next training and have a key and a button."""
    return {phrase for phrase, command in built_in().items() if command not in AWAITING}


def test_the_shipped_classifier_knows_every_phrase(ear: TrainedEar) -> None:
    """No phrase that has no key is without an ear, and nothing has to be said about it."""
    assert to_be_heard() <= set(load_classifier(SHIPPED).labels)
    assert ear.notes == ()


def test_the_shipped_classifiers_are_small() -> None:
    """Both files together stay under seven and a half megabytes."""
    assert SHIPPED.stat().st_size + NUMBERS.stat().st_size < 7_500_000


def test_the_number_classifier_knows_every_digit() -> None:
    """Each word for a digit is in the classifier for numbers."""
    assert set(DIGITS) <= set(load_classifier(NUMBERS).labels)


@needs_flite
@pytest.mark.longer
def test_phrases_are_taken(ear: TrainedEar) -> None:
    """Every phrase by two voices, every day by one of them, nearly quiet: most are taken, none for
    another."""
    taken = [
        (phrase, [text for text, accepted in heard(ear, said(phrase, speaker, n)) if accepted])
        for n, phrase in enumerate(sorted(built_in()))
        for m, speaker in enumerate(("rms", "slt"))
        if in_full() or of_share(phrase, 2) == m
    ]
    assert sum(texts == [phrase] for phrase, texts in taken) >= 0.85 * len(taken)
    assert all(texts in ([], [phrase]) for phrase, texts in taken)


COMMON = ("yes", "no", "okay", "stop", "go", "ready", "right", "on", "off", "next", "thanks")


SHARES = length(6, 1)  # 6: common words, and of the others a sixth by each voice


@needs_flite
@pytest.mark.longer
@pytest.mark.parametrize("speaker", ["rms", "slt"])
def test_no_single_word_confirms_anything(ear: TrainedEar, speaker: str) -> None:
    """Common words, and every word of the phrases said alone; "unmeasured" is no common word."""
    words = sorted({word for phrase in built_in() for word in phrase.split()} | set(COMMON))
    taken = {
        (word, text)
        for n, word in enumerate(words)
        if word in COMMON or of_share(word, SHARES) == ["rms", "slt"].index(speaker) % SHARES
        for text, ok in heard(ear, said(word, speaker, n))
        if ok and built_in()[text] in CONFIRMATIONS and word != "unmeasured"
    }
    assert not taken


@needs_flite
@pytest.mark.parametrize("speaker", ["rms", "slt"])
def test_talk_is_not_taken(ear: TrainedEar, speaker: str) -> None:
    """Ordinary sentences, and single words of the phrases, are none of them."""
    talk = ["pass me the spanner please", "we open at half past nine", "spindle", "closed",
            "yes", "no", "the weather will be fine tomorrow", "locked"]  # fmt: skip
    taken = [
        text for n, line in enumerate(talk) for text, ok in heard(ear, said(line, speaker, n)) if ok
    ]
    assert taken == []


def test_a_minute_of_shop_is_not_taken(ear: TrainedEar) -> None:
    """Machines and clanks alone confirm nothing."""
    noise = shop(np.random.default_rng(8), 60 * 16_000) * np.float32(0.05)
    assert not any(accepted for _, accepted in heard(ear, to_pcm(noise)))


@needs_flite
def test_looking_twice_gives_the_same_as_looking_once(ear: TrainedEar) -> None:
    """The early look leaves no trace in the later one."""
    pcm = next(
        segment.pcm
        for segment in Detector(silero()).feed(said("how many left", "slt", 3))
        if segment.kind is Ending.WHOLE
    )
    once = TrainedEar(SHIPPED).recognise(pcm)
    ear.recognise(pcm[: len(pcm) - 4096])
    twice = ear.recognise(pcm)
    assert twice.text == once.text
    assert twice.confidence == pytest.approx(once.confidence, abs=1e-3)


def test_a_sound_too_short_is_nothing(ear: TrainedEar) -> None:
    """A blip has no embedding and no phrase."""
    assert ear.recognise(bytes(3200)) == Guess("", None, 0.0)


def test_a_broken_classifier_is_told(tmp_path: Path) -> None:
    """The ear that can't be opened says which file and what to do."""
    pytest.importorskip("pyopen_wakeword")
    (tmp_path / "classifier.npz").write_text("nothing")
    with pytest.raises(EarUnusable, match=r"classifier\.npz: no trained classifier"):
        TrainedEar(tmp_path / "classifier.npz")


def test_an_own_classifier_goes_first(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """What was learned of the person is used without asking, and not when it is gone."""
    monkeypatch.setenv("TALLYHAND_VOICE", str(tmp_path))
    assert classifier_file() == SHIPPED
    (tmp_path / "phrases.npz").write_bytes(SHIPPED.read_bytes())
    assert classifier_file() == tmp_path / "phrases.npz"


class Sure:
    """An ear that says what it is told to: only here can the confidence be chosen exactly."""

    name, quick = "sure", True
    notes: tuple[str, ...] = ()

    def __init__(self, command: Command, confidence: float) -> None:
        self.guess = Guess("a phrase", command, confidence)

    def recognise(self, pcm: bytes) -> Guess:
        return self.guess


STILL = patch("assistant.hearing.judging.time", SimpleNamespace(monotonic=lambda: 0.0))
"""A clock that stands still: the silence is told, not how long a busy machine thinks."""


def answers(
    command: Command,
    confidence: float,
    expected: frozenset[Command] | None = None,
    others: Mapping[Command, float] | None = None,
) -> list[float]:
    """Seconds of silence after which the answers come, for one utterance."""
    voice = iter([0.0] * 20 + [0.9] * 20 + [0.0] * 30)
    ear = Sure(command, confidence)
    ear.guess = Guess("a phrase", command, confidence, others or {})
    hearer = Hearer(ear, Detector(lambda _: next(voice)), EarSettings())
    hearer.expected = expected
    with STILL:
        found = hearer.feed(bytes(1024 * 70))
    return [round(each.answered_after_s, 2) for each in found if each.accepted]


def test_a_certain_phrase_is_answered_once_and_early() -> None:
    """One answer, after 0.06 s of silence; for the lock later; in doubt after all of it."""
    assert answers(Command.SAY_AGAIN, 0.97) == [0.06]
    assert answers(Command.SAY_AGAIN, 0.85) == [0.13]
    assert answers(Command.SAY_AGAIN, 0.7) == [0.19]
    assert answers(Command.SAY_AGAIN, 0.55) == []
    assert answers(Command.LOCKED, 0.99) == [0.13]
    assert answers(Command.LOCKED, 0.95) == [0.26]
    assert answers(Command.LOCKED, 0.91) == [TRAIL_S]
    assert answers(Command.LOCKED, 0.85) == []


def test_a_phrase_in_the_middle_of_talk_must_be_surer() -> None:
    """Within a breath of words that were none of ours a phrase needs 0.95 and a longer silence,
    later not, and one that makes no sense now is passed over, however sure the ear is; an answer
    to our own voice is no talk."""
    gap = {"soon": 30, "later": 80}
    talk, ear = Guess("", None, 0.9), Sure(Command.SAY_AGAIN, 0.9)

    def after(
        quiet: int, confidence: float, *, answer: bool = False, now: Command | None = None
    ) -> list[float]:
        voice = iter([0.0] * 20 + [0.9] * 20 + [0.0] * quiet + [0.9] * 20 + [0.0] * 20)
        hearer = Hearer(ear, Detector(lambda _: next(voice)), EarSettings())
        hearer.expected = None if now is None else frozenset({now})
        ear.guess = talk
        hearer.feed(bytes(1024 * (40 + quiet)))
        if answer:
            hearer.reset()
        ear.guess = Guess("say again", Command.SAY_AGAIN, confidence)
        with STILL:
            found = hearer.feed(bytes(1024 * 40))
        return [round(h.answered_after_s, 2) for h in found if h.accepted]

    assert after(gap["soon"], 0.9) == []
    assert after(gap["soon"], 0.97) == [0.26]
    assert after(gap["soon"], 0.9, answer=True) == [0.13]
    assert after(gap["later"], 0.9) == [0.13]
    assert after(gap["soon"], 0.97, now=Command.SAY_AGAIN) == [0.26]
    assert after(gap["soon"], 0.999, now=Command.CUT_DONE) == []
    assert after(gap["soon"], 0.999, now=Command.CUT_DONE, answer=True) != []
    assert after(gap["later"], 0.999, now=Command.CUT_DONE) != []


def test_a_voice_as_short_as_a_word_must_be_surer() -> None:
    """Under half a second it is hardly two words: 0.9; the same a little longer needs no more than
    ever."""

    def taken(chunks: int, confidence: float) -> bool:
        voice = iter([0.0] * 20 + [0.9] * chunks + [0.0] * 20)
        hearer = Hearer(
            Sure(Command.CUT_DONE, confidence), Detector(lambda _: next(voice)), EarSettings()
        )
        return any(heard.accepted for heard in hearer.feed(bytes(1024 * (40 + chunks))))

    assert not taken(15, 0.85) and taken(15, 0.91)
    assert taken(16, 0.85)


def test_what_makes_no_sense_now_must_be_surer() -> None:
    """A doubtful phrase counts where it is expected, and elsewhere only when hardly in doubt;
    lock and guard need as much as ever, and more where they make no sense."""
    wanted = frozenset({Command.CUT_DONE, Command.LOCKED})
    assert answers(Command.CUT_DONE, 0.7, wanted) == [0.19]
    assert answers(Command.RELEASED, 0.7, wanted) == []
    assert answers(Command.RELEASED, 0.96, wanted) == []
    assert answers(Command.RELEASED, 0.975, wanted) != []
    assert answers(Command.LOCKED, 0.85, wanted) == []
    assert answers(Command.GUARDED, 0.96, wanted) == []


def test_doubt_about_what_makes_no_sense_now_is_set_aside() -> None:
    """Half sure of what is expected, the rest of the doubt for a phrase of another step: taken.
    The same doubt for a phrase that makes sense too: not taken."""
    doubt = {Command.RELEASED: 0.4}
    assert answers(Command.CUT_DONE, 0.5, frozenset({Command.CUT_DONE}), doubt) == [0.13]
    assert answers(Command.CUT_DONE, 0.5, frozenset({Command.CUT_DONE, *doubt}), doubt) == []
    assert answers(Command.CUT_DONE, 0.5, None, doubt) == []


def loud(hearer: Hearer, noise_db: float, voice_db: float) -> str:
    """Why an utterance at this level over this noise is not taken."""
    rng = np.random.default_rng(4)
    levels = np.repeat(
        10 ** (np.array([noise_db] * 20 + [voice_db] * 20 + [noise_db] * 30) / 20), 512
    )
    pcm = to_pcm((rng.standard_normal(len(levels)) * levels).astype(np.float32))
    return next(each.why for each in hearer.feed(pcm))


def test_beside_a_loud_machine_the_pedal_alone_confirms() -> None:
    """A voice that hardly stands out: lock and guard are refused with the cure, however sure
    the ear is; when it is quiet again they are taken."""
    voice = iter(([0.0] * 20 + [0.9] * 20 + [0.0] * 30) * 9)
    ear = Sure(Command.SAY_AGAIN, 0.97)
    hearer = Hearer(ear, Detector(lambda _: next(voice)), EarSettings())
    assert [loud(hearer, -40, -39) for _ in range(3)] == ["", "", ""]
    ear.guess = Guess("spindle locked", Command.LOCKED, 0.99)
    assert "use the pedal" in loud(hearer, -40, -39)
    ear.guess = Guess("say again", Command.SAY_AGAIN, 0.97)
    assert [loud(hearer, -60, -39) for _ in range(4)] == ["", "", "", ""]
    ear.guess = Guess("spindle locked", Command.LOCKED, 0.99)
    assert loud(hearer, -60, -39) == ""


def in_blocks(hearer: Hearer, seconds: float, level_db: float) -> None:
    """Noise, in the pieces that a microphone gives."""
    rng = np.random.default_rng(5)
    sound = rng.standard_normal(round(seconds * 16_000)) * 10 ** (level_db / 20)
    pcm = to_pcm(sound.astype(np.float32))
    for at in range(0, len(pcm), 640):
        hearer.feed(pcm[at : at + 640])


def test_noise_that_drowns_every_word_is_noticed_and_its_end_too() -> None:
    """Nobody need speak: the usual voice is known, and the noise is measured all the time."""
    voice = iter(([0.0] * 20 + [0.9] * 20 + [0.0] * 30) * 3 + [0.0] * 2000)
    hearer = Hearer(Sure(Command.SAY_AGAIN, 0.97), Detector(lambda _: next(voice)), EarSettings())
    for _ in range(3):
        assert loud(hearer, -60, -35) == ""
    in_blocks(hearer, 4, -34)
    assert hearer.trust.too_loud and hearer.trust.margin is not None and hearer.trust.margin < 3
    in_blocks(hearer, 1, -60)
    assert hearer.trust.too_loud, "a short break is not quiet again"
    in_blocks(hearer, 4, -60)
    assert not hearer.trust.too_loud


def test_a_voice_from_across_the_shop_does_not_confirm() -> None:
    """Far fainter than the person's usual voice: not for lock and guard, whatever the ear says."""
    voice = iter(([0.0] * 20 + [0.9] * 20 + [0.0] * 30) * 6)
    ear = Sure(Command.SAY_AGAIN, 0.97)
    hearer = Hearer(ear, Detector(lambda _: next(voice)), EarSettings())
    assert [loud(hearer, -60, -30) for _ in range(3)] == ["", "", ""]
    ear.guess = Guess("guard closed", Command.GUARDED, 0.99)
    assert "fainter than your usual voice" in loud(hearer, -60, -45)
    assert loud(hearer, -60, -36) == ""
    ear.guess = Guess("say again", Command.SAY_AGAIN, 0.97)
    assert loud(hearer, -60, -45) == ""


@pytest.mark.parametrize(
    ("voice_db", "why"), [(-45, "far fainter than your usual voice"), (-31, "")]
)
def test_nor_does_one_behind_a_stop_of_the_microphone(voice_db: int, why: str) -> None:
    """There is no stretch of noise before it to be measured; it is faint all the same."""
    voice = iter(([0.0] * 20 + [0.9] * 20 + [0.0] * 30) * 3 + [0.0] * 3 + [0.9] * 20 + [0.0] * 30)
    ear = Sure(Command.SAY_AGAIN, 0.97)
    hearer = Hearer(ear, Detector(lambda _: next(voice)), EarSettings())
    assert [loud(hearer, -60, -30) for _ in range(3)] == ["", "", ""]
    hearer.reset()
    ear.guess = Guess("guard closed", Command.GUARDED, 0.99)
    steps = np.array([-60] * 3 + [voice_db] * 20 + [-60] * 30)
    sound = np.random.default_rng(4).standard_normal(53 * 512) * np.repeat(10 ** (steps / 20), 512)
    heard = hearer.feed(to_pcm(sound.astype(np.float32)))
    assert [each.why for each in heard] == [why]


def agreed(first: Guess, second: Guess) -> list[tuple[bool, str, float]]:
    """The verdict on one utterance where two ears must agree, and when it came."""
    voice = iter([0.0] * 20 + [0.9] * 20 + [0.0] * 30)
    one, other = Sure(Command.LOCKED, 1.0), Sure(Command.LOCKED, 1.0)
    one.guess, other.guess = first, second
    hearer = Hearer(one, Detector(lambda _: next(voice)), EarSettings(agree=True), other)
    with STILL:
        found = hearer.feed(bytes(71680))
    return [(each.accepted, each.why, round(each.answered_after_s, 2)) for each in found]


def test_two_ears_must_agree_on_lock_and_guard() -> None:
    """Only when the second heard the same phrase, and surely enough; other phrases as ever."""
    locked = Guess("spindle locked", Command.LOCKED, 0.99)
    guarded = Guess("guard closed", Command.GUARDED, 0.99)
    done = Guess("cut done", Command.CUT_DONE, 0.99)
    assert agreed(locked, locked) == [(True, "", 0.13)]
    for other in (guarded, Guess("", None, 0.0), Guess("spindle locked", Command.LOCKED, 0.5)):
        assert agreed(locked, other) == [(False, "the second ear did not hear the same", TRAIL_S)]
    assert agreed(done, guarded) == [(True, "", 0.06)]


def test_nothing_is_taken_that_is_too_long_for_its_phrase(ear: TrainedEar) -> None:
    """Each phrase has a plausible length: longer talk is none of them, however it sounds."""
    plausible = usual_lengths(load_classifier(SHIPPED))
    assert to_be_heard() <= set(plausible)
    for shortest, longest in plausible.values():
        assert 0.6 < shortest < 1.3
        assert 2.0 < longest < 3.5
    pcm = to_pcm(shop(np.random.default_rng(1), int(3.6 * 16_000)) * np.float32(0.05))
    assert ear.recognise(pcm).command is None


class Told:
    """Parts of a verdict that say one thing mixed as lock and guard are, and another as usual."""

    def __init__(self, labels: tuple[str, ...], strict: str, usual: str) -> None:
        self._labels, self._strict, self._usual = labels, strict, usual

    def mixed(self, mixing: Mixing = USUAL) -> np.ndarray:
        wanted = self._strict if mixing is LOCK_OR_GUARD else self._usual
        likely = np.full(len(self._labels), 0.001, np.float32)
        likely[self._labels.index(wanted)] = 0.95
        return likely


@pytest.mark.parametrize(
    ("strict", "usual", "taken"),
    [
        ("spindle locked", "spindle locked", "spindle locked"),
        ("", "spindle locked", ""),  # only the rebate on "none" made it a phrase
        ("cut done", "guard closed", "cut done"),
        ("guard closed", "", "guard closed"),
        ("", "cut done", "cut done"),
        ("how many left", "cut done", "cut done"),
    ],
)
def test_lock_and_guard_are_never_taken_at_a_rebate(
    ear: TrainedEar, monkeypatch: pytest.MonkeyPatch, strict: str, usual: str, taken: str
) -> None:
    """What the usual mixing alone takes for lock or guard is what the strict one says it is."""
    labels = load_classifier(SHIPPED).labels
    monkeypatch.setattr(Classifier, "parts", lambda *_: Told(labels, strict, usual))
    monkeypatch.setattr(TrainedEar, "_can_be", lambda *_: True)
    monkeypatch.setattr(PhraseFits, "of", lambda *_: None)
    assert ear.recognise(bytes(60_000)).text == taken
