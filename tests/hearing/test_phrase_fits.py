"""How well phrases fit the phones heard, and the sum with the trained classifier."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from shutil import which

import numpy as np
import pytest

from assistant.engine.events import Command
from assistant.errors import Refusal
from assistant.hearing.classifier.classifier import NONE, load_classifier
from assistant.hearing.model_files import SHIPPED
from assistant.hearing.person.learned_sound import LearnedSound
from assistant.hearing.phones import network, word_sounds
from assistant.hearing.phones.near_misses import CLEAR, stands_clear
from assistant.hearing.phones.network import BLANK, PHONES, PhoneNetwork, Rows
from assistant.hearing.phones.phrase_fit import (
    ALIKE,
    OWN_FIT,
    USUAL_FIT,
    PhraseFits,
    chances_together,
    stands_apart,
    ways,
)
from assistant.hearing.phones.scoring import Sounds, sounds
from assistant.hearing.phones.word_sounds import letters_of, word_ways
from assistant.hearing.pronunciation import dictionary
from assistant.hearing.recognisers.recogniser import EarUnusable
from assistant.hearing.recognisers.trained import TrainedEar, by_phones
from assistant.hearing.vocabulary import built_in
from assistant.hearing.waves import Wave

HEARD = sorted(built_in())
SOME = np.zeros(1000, np.float32)


class Spelled(PhoneNetwork):
    """Hears one phone after another, a blank between, whatever the sound."""

    def __init__(self, said: Sounds, sure: float = 0.9) -> None:
        super().__init__({})
        rows = [label for each in said for label in (BLANK, each, BLANK)]
        chances = np.full((len(rows), len(PHONES) + 1), (1 - sure) / len(PHONES))
        chances[np.arange(len(rows)), rows] = sure
        object.__setattr__(self, "rows", np.log(chances).astype(np.float32))

    def hear(self, sound: Wave) -> Rows:
        rows: Rows = self.__dict__["rows"]
        return rows[: len(sound)]


def fits(said: Sounds) -> dict[str, float]:
    found = PhraseFits(HEARD, Spelled(said)).of(Spelled(said).hear(np.zeros(1000, np.float32)))
    assert found is not None
    return dict(zip(HEARD, found, strict=True))


@pytest.mark.parametrize("phrase", HEARD)
def test_each_phrase_fits_its_own_sounds_best(phrase: str) -> None:
    """However it is pronounced, and clear of every other by one for each phone."""
    for said in ways(phrase):
        found = fits(said)
        others = [fit for other, fit in found.items() if other != phrase]
        assert found[phrase] > -0.2 and found[phrase] > max(others) + 1


@pytest.mark.parametrize(
    ("phrase", "said"),
    [
        ("cut done", "kʌdʌn"),
        ("next part", "nɛkspɑɹt"),
        ("went past the hole", "wɛntpɑsðəhOl"),
        ("lost my count", "lɑsmIkWnt"),
        ("spindle locked", "spɪndlɑkt"),
        ("place is certain", "plAsɪsɜɹtn"),
        ("set and checked", "sɛtnʧɛkt"),
        ("guard closed", "ɡɑɹklOzd"),
    ],
)
def test_talk_swallows_sounds(phrase: str, said: str) -> None:
    """A t or d between other consonants, the first of two like ones, the vowel of "and" (elision in
    connected English; from memory of textbooks of phonetics)."""
    assert fits(sounds(said))[phrase] > -0.2


def test_no_sound_and_other_sounds_fit_nothing() -> None:
    short = PhraseFits(HEARD, Spelled(sounds("kʌt")))
    assert short.of(short.hear(np.zeros(0, np.float32))) is None
    assert max(fits(sounds("pæsmiðəspænəɹ")).values()) < -2


@pytest.mark.skipif(not dictionary(), reason="needs the dictionary of PocketSphinx")
def test_own_phrases_are_their_sounds() -> None:
    """By the general dictionary (CMUdict: HOLD  HH OW L D)."""
    assert sounds("hOldðəʤɑb") in ways("hold the job")
    # Stressed or not, with its r or without (CMUdict marks neither: MIRROR  M IH R ER).
    assert {sounds("smɑɹtmɪɹəɹ"), sounds("smɑɹtmɪɹə")} <= set(ways("smart mirror"))


@pytest.mark.skipif(not which("espeak-ng"), reason="needs espeak-ng")
@pytest.mark.parametrize(
    ("word", "said"),
    [
        ("swarf", {"swɔɹf", "swɔf"}),
        ("knurl", {"nɜɹl", "nɜl"}),
        ("deburring", {"dɪbɜɹɪŋ", "dibɜɹɪŋ", "dɛbɜɹɪŋ"}),
    ],
)
def test_a_word_of_the_trade_that_the_dictionary_lacks_is_as_espeak_reads_it(
    word: str, said: set[str]
) -> None:
    """Pronunciations: general dictionaries of English (from memory)."""
    assert word not in dictionary()
    assert set(word_ways(word)) & said
    assert ways(f"clear the {word}")


def test_pronunciations_of_espeak_in_the_letters_of_the_network() -> None:
    """Its signs: International Phonetic Alphabet, two letters for an affricate or a diphthong."""
    assert letters_of("dʒˈeɪl tʃˈɜːtʃ") == "ʤAlʧɜʧ"
    assert letters_of("fˈɪkstʃɚɹɪŋ\n") == "fɪksʧəɹɹɪŋ"
    assert letters_of("mˈa͡ɪl ɹˈaʊnd") == "mIlɹWnd"


def test_a_word_that_nothing_can_pronounce_has_no_sounds(monkeypatch: pytest.MonkeyPatch) -> None:
    """No espeak-ng here, or a sound that no English word has."""
    for read in ("", "bˈax", "bˈyːç"):
        monkeypatch.setattr(word_sounds, "ipa", lambda *_, read=read: read)
        assert ways("hold the zzyzxq") == ()


def test_classifier_and_phones_together() -> None:
    """Where the phones fit both alike the classifier decides; where the classifier is in doubt the
    phones do; what fits badly is none of them, however sure the classifier is; a phrase beyond the
    classifier needs its sounds alone."""
    classifier = np.array([0.6, 0.2, 0.2], np.float32)
    both = chances_together(classifier, np.array([-0.5, -0.5]))
    assert both.sum() == pytest.approx(1) and both.argmax() == 0
    assert chances_together(classifier, np.array([-1.5, -0.1])).argmax() == 1
    assert chances_together(np.array([0.98, 0.01, 0.01]), np.array([-4.0, -5.0])).argmax() == 2
    beyond = chances_together(np.array([0.01, 0.01, 0.98]), np.array([-5.0, -5.0, -0.2]))
    assert len(beyond) == 4 and beyond[2] > 0.9
    assert (
        chances_together(np.array([0.01, 0.01, 0.98]), np.array([-5.0, -5.0, -1.5])).argmax() == 3
    )


def test_phrases_that_the_classifier_lacks_are_listened_for() -> None:
    """By their sounds alone, but for lock and guard, which need the classifier as well."""
    own = {"lever is home": Command.LOCKED, "cutter is shut in": Command.GUARDED}
    labels, found = by_phones(load_classifier(SHIPPED), built_in() | own, LearnedSound())
    assert set(labels[:-1]) == set(built_in()) and labels[-1] == NONE and found is not None


@pytest.mark.skipif(not dictionary(), reason="needs the dictionary of PocketSphinx")
def test_own_phrases_count_for_more_but_for_answers(monkeypatch: pytest.MonkeyPatch) -> None:
    """People fit less well than the voices of the choice; what moves the job on stays strict."""
    own = {"hold the job": Command.PAUSE, "that is cut": Command.CUT_DONE}
    said = sounds("pæsmiðəspænəɹ")
    monkeypatch.setattr("assistant.hearing.recognisers.trained.shipped", lambda: Spelled(said))
    labels, found = by_phones(load_classifier(SHIPPED), built_in() | own, LearnedSound())
    usual = PhraseFits(labels[:-1], Spelled(said))
    heard = usual.hear(np.zeros(1000, np.float32))
    assert found is not None
    more = dict(zip(labels[:-1], np.subtract(found.of(heard), usual.of(heard)), strict=True))
    assert more["hold the job"] == pytest.approx(OWN_FIT)
    assert not any(gain for phrase, gain in more.items() if phrase != "hold the job")


def test_of_two_phrases_alike_the_winner_must_stand_apart() -> None:
    """These two alone: “say again” may be as near to another as it likes. Some of the fits are
    those of decision 765."""
    phrases = ("fewer words", "more words", "say again")
    assert set(built_in()) >= ALIKE
    assert stands_apart("more words", phrases, np.array([-1.7, -0.6, -0.6]))
    assert not stands_apart("more words", phrases, np.array([-1.1, -0.6, -8.0]))
    assert not stands_apart("fewer words", phrases, np.array([-0.3, -0.8, -8.0]))
    assert stands_apart("say again", phrases, np.array([-0.6, -0.6, -0.6]))
    assert stands_apart("more words", phrases[1:], np.array([-0.6, -0.6]))


@pytest.mark.parametrize(("other", "taken"), [(-2.0, "more words"), (-0.3, "")])
def test_the_ear_takes_neither_of_two_alike(
    monkeypatch: pytest.MonkeyPatch, other: float, taken: str
) -> None:
    pytest.importorskip("pyopen_wakeword")
    ear = TrainedEar(SHIPPED)
    near = {"more words": 0.3, "fewer words": other}
    told = np.array([near.get(label, -8.0) for label in ear._labels[:-1]])
    monkeypatch.setattr(PhraseFits, "of", lambda *_: told)
    monkeypatch.setattr(TrainedEar, "_can_be", lambda *_: True)
    assert ear.recognise(bytes(60_000)).text == taken


def heard_as(phrase: str, rival: str, share: float) -> Rows:
    """Rows in which the sounds of `rival` have so much of what those of `phrase` have, phone by
    phone; both of the same length."""
    one, other = (np.exp(Spelled(sounds(each)).hear(np.zeros(1000))) for each in (phrase, rival))
    mixed = one + share * other
    return np.asarray(np.log(mixed / mixed.sum(axis=1, keepdims=True)), np.float32)


@pytest.mark.parametrize(
    ("rival", "share", "clear"),
    [
        ("ɡʌtdʌn", 0.01, True),
        ("ɡʌtdʌn", 0.5, False),
        ("kʌtnʌn", 0.5, False),
        ("kʌtdʌm", 0.5, False),
        ("kʌtdʊn", 0.5, True),  # northern English, the same word (phonetics; from memory)
    ],
)
def test_cut_done_stands_clear_of_what_differs_in_one_phone(
    rival: str, share: float, clear: bool
) -> None:
    """Its own sounds, however they are swallowed, do; a word between two of them does not."""
    assert stands_clear("cut done", heard_as("kʌtdʌn", rival, share)) is clear
    assert all(stands_clear("cut done", Spelled(said).hear(SOME)) for said in ways("cut done"))


def test_other_phrases_need_not_stand_clear() -> None:
    """Only what ordinary talk was taken for: each such rule costs some that were said."""
    assert set(CLEAR) == {"cut done"}
    assert stands_clear("say again", Spelled(sounds("pæsmi")).hear(SOME))


@pytest.mark.parametrize(("rival", "taken"), [("ɡʌtdʌn", ""), ("pʌtdʌn", ""), (None, "cut done")])
def test_the_ear_takes_no_cut_done_that_may_be_another_word(
    monkeypatch: pytest.MonkeyPatch, rival: str | None, taken: str
) -> None:
    """However sure classifier and phones are together."""
    pytest.importorskip("pyopen_wakeword")
    ear = TrainedEar(SHIPPED)
    sure = np.array([1.0 if label == "cut done" else -8.0 for label in ear._labels[:-1]])
    heard = heard_as("kʌtdʌn", rival or "kʌtdʌn", 0.6)
    monkeypatch.setattr(PhraseFits, "of", lambda *_: sure)
    monkeypatch.setattr(PhraseFits, "hear", lambda *_: heard)
    monkeypatch.setattr(TrainedEar, "_can_be", lambda *_: True)
    assert ear.recognise(bytes(60_000)).text == taken


def test_a_phrase_that_nothing_can_pronounce_takes_the_phones_from_no_other(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """The classifier alone says whether it was that; all others have their sounds as before."""
    monkeypatch.setattr(word_sounds, "ipa", lambda *_: "")
    classifier = load_classifier(SHIPPED)
    odd = replace(classifier, labels=("zzyzxq the job", *classifier.labels[1:]))
    said = sounds("ɡOʃɑpiŋ")
    for heard in (sounds("spɪndllɑkt"), said):
        network_heard = Spelled(heard)
        monkeypatch.setattr(
            "assistant.hearing.recognisers.trained.shipped", lambda n=network_heard: n
        )
        labels, found = by_phones(odd, built_in(), LearnedSound())
        assert labels[0] == "zzyzxq the job" and found is not None
        fit = found.of(network_heard.hear(SOME))
        assert fit is not None and fit[0] == -USUAL_FIT
        assert bool(fit[labels.index("spindle locked")] > -0.2) == (heard != said)


def test_without_its_network_the_ear_says_what_to_do(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    pytest.importorskip("pyopen_wakeword")

    def broken() -> PhoneNetwork:
        raise Refusal(f"{tmp_path}/phones.npz: no phone network; install the program anew")

    monkeypatch.setattr("assistant.hearing.recognisers.trained.shipped", broken)
    with pytest.raises(EarUnusable, match="install the program anew"):
        TrainedEar(SHIPPED)


def test_the_network_is_read_once() -> None:
    assert network.shipped() is network.shipped()
