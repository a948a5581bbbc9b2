"""The phone network and the sizes that are read from it."""

from __future__ import annotations

from itertools import groupby, product
from pathlib import Path

import numpy as np
import pytest

from assistant.errors import Refusal
from assistant.hearing.phones.network import BLANK, FILE, PHONES, Rows, load_phones
from assistant.hearing.phones.scoring import free_score, scores, sounds
from assistant.hearing.phones.sizes import (
    PRONUNCIATIONS,
    Weighed,
    best_words,
    row_of_figures,
    sure,
    weighed,
)
from assistant.hearing.recognisers.numbers import NumberGuess, number_together
from assistant.hearing.spoken_numbers import SIGNS, number_from, number_words


def heard(*several: tuple[str, ...], share: float = 0.9) -> Rows:
    """Phones as the network would tell them, two rows each and a blank after; where more than one
    pronunciation is given, they share each row."""
    rows = []
    for phones in zip(*several, strict=True):
        row = np.full(len(PHONES) + 1, (1 - share) / len(PHONES))
        for phone in phones:
            row[PHONES.index(phone) + 1] += share / len(phones)
        blank = np.full(len(PHONES) + 1, 0.001)
        blank[BLANK] = 1.0
        rows += [row, row, blank]
    made = np.array(rows)
    return np.log(made / made.sum(axis=1, keepdims=True)).astype(np.float32)


def said(text: str) -> str:
    return "".join(PRONUNCIATIONS[word][0] for word in text.split())


def test_the_score_is_the_sum_over_all_paths() -> None:
    """Against every path counted out: a path's phones are what is left when repeats and then
    blanks are dropped (Graves et al., 2006, "Connectionist temporal classification")."""
    rng = np.random.default_rng(1)
    raw = rng.random((5, len(PHONES) + 1))
    raw[:, 4:] = 1e-9
    rows = np.log(raw / raw.sum(axis=1, keepdims=True)).astype(np.float32)
    several = [(1,), (1, 2), (1, 1), (3, 2, 1)]
    made = scores(rows, several)
    for one, score in zip(several, made, strict=True):
        total = 0.0
        for path in product(range(4), repeat=5):
            if tuple(p for p, _ in groupby(path) if p != BLANK) == one:
                total += float(np.exp(sum(rows[t, p] for t, p in enumerate(path))))
        assert score == pytest.approx(np.log(total), abs=1e-4)
    assert free_score(rows) == pytest.approx(float(rows.max(axis=1).sum()))


@pytest.mark.parametrize(
    "text",
    ["nineteen point oh five", "seven hundred and fifty thou", "four four point nine one",
     "point six five", "twenty six inches"],
)  # fmt: skip
def test_a_size_is_read_from_its_phones(text: str) -> None:
    """Clear phones give the words, and surely."""
    found = weighed(heard(tuple(said(text))))
    assert found is not None
    assert " ".join(found.words) == text
    assert sure(found, 3.0)
    assert number_from(text) is not None


@pytest.mark.parametrize("text", ["minus point oh two", "under three", "minus eleven"])
def test_a_reading_may_lie_below_nought(text: str) -> None:
    """A size never does: there the sign is no word."""
    found = weighed(heard(tuple(said(text))), signed=True)
    assert found is not None and " ".join(found.words) == text
    assert sure(found, 3.0)
    size = weighed(heard(tuple(said(text))))
    assert size is None or not set(size.words) & set(SIGNS)


def test_a_sign_that_is_hardly_heard_is_asked_for_again() -> None:
    """Half of the sound has it, half has none: a figure without its sign is twice itself off."""
    clear = np.exp(heard(tuple(said("minus six"))))
    found = weighed(np.log(clear), signed=True)
    assert found is not None and found.words == ("minus", "six") and sure(found, 2.0)
    silence = np.full(len(PHONES) + 1, 0.001)
    silence[BLANK] = 1.0
    sign = 3 * len(said("minus"))
    clear[:sign] = (clear[:sign] + silence) / 2
    found = weighed(np.log(clear), signed=True)
    assert found is not None and "six" in found.words and not sure(found, 2.0)


def test_fifteen_or_fifty_is_not_sure() -> None:
    """Half the one and half the other: never a size to be read back. So close that the next
    word is worth less than nothing."""
    found = weighed(heard(tuple("fɪfti" + said("point two")), tuple("fɪfpi" + said("point two"))))
    assert found is not None and sure(found, 2.0)
    torn = weighed(heard(tuple("sɪks" + said("two")), tuple("sɛks" + said("two"))))
    assert torn is not None and torn.words == ("six", "two")
    both = weighed(heard(tuple(said("nine")), tuple("fIv")))
    assert both is not None and not sure(both, 1.0)


def test_four_figures_in_no_time_are_noise() -> None:
    """However clear: nobody says them in a fifth of a second."""
    found = Weighed(("six", "two", "point", "eight"), 9.0, -0.1)
    assert sure(found, 1.0) and not sure(found, 0.2)


def test_a_size_must_stand_clearer_than_a_figure() -> None:
    """The margins were chosen on voices that no figure counts."""
    assert sure(Weighed(("point", "six"), 4.1, -0.1), 1.0)
    assert not sure(Weighed(("point", "six"), 3.9, -0.1), 1.0)
    assert sure(Weighed(("six",), 3.1, -0.1), 1.0) and not sure(Weighed(("six",), 2.9, -0.1), 1.0)
    assert not sure(Weighed(("point", "six"), 9.0, -0.7), 1.0)


def guess(text: str, confidence: float = 0.9, sure: bool = True) -> NumberGuess:
    return NumberGuess(text, number_from(text) if text else None, confidence, sure)


def test_of_several_words_the_phones_decide() -> None:
    """To the classifier of single figures "point four" is a four, however sure it is of it."""
    found = number_together(guess("four", 0.98), guess("point four"), figures=False)
    assert (found.text, found.sure) == ("point four", True)
    unclear = number_together(guess("four", 0.98), guess("point four", sure=False), figures=False)
    assert not unclear.sure


def test_a_row_of_figures_in_one_breath_is_asked_for_again() -> None:
    """Not while somebody gives figure by figure, a pause too short between two of them."""
    assert row_of_figures(("eight", "four")) and not row_of_figures(("eight",))
    assert not row_of_figures(("point", "four"))
    assert not number_together(guess("", 0.0), guess("eight four"), figures=False).sure
    assert number_together(guess("", 0.0), guess("eight four"), figures=True).sure


def test_of_a_single_figure_either_may_be_sure() -> None:
    """Where both are and differ, or where neither is, it is asked for again."""
    silent = guess("", 0.0)
    assert number_together(guess("six"), silent, figures=True).text == "six"
    assert number_together(guess("oh"), guess("zero", sure=False), figures=True) == guess("oh")
    assert number_together(silent, guess("eight"), figures=True) == guess("eight")
    assert not number_together(guess("six"), guess("eight"), figures=True).sure
    assert not number_together(guess("six"), guess("eight", sure=False), figures=True).sure
    assert number_together(guess("six", 0.5), guess("eight", sure=False), figures=True).text == ""
    assert (
        number_together(guess("six", 0.5), guess("eight", sure=False), figures=False).text
        == "eight"
    )
    assert number_together(guess("six", 0.5), silent, figures=False).text == ""


def test_every_number_word_has_its_phones() -> None:
    """Those of the numbers' own grammar, and no phone that the network does not tell."""
    assert set(PRONUNCIATIONS) == set(number_words())
    assert all(sounds(each) for several in PRONUNCIATIONS.values() for each in several)


def test_nothing_is_no_size() -> None:
    """Where no phone was heard there is no number, and words of other sounds are never sure."""
    assert weighed(np.zeros((0, len(PHONES) + 1), np.float32)) is None
    assert best_words(heard(tuple("O"))[:0]) == ()
    talk = weighed(heard(tuple("ʃʌtɪtdWn")))
    assert talk is None or not sure(talk, 1.0)


@pytest.mark.parametrize("seconds", [0.0, 0.01, 7.0, 3600.0])
def test_too_short_or_too_long_is_not_listened_to(seconds: float) -> None:
    """A recording of no length, or of an hour."""
    assert len(load_phones().hear(np.zeros(round(seconds * 16_000), np.float32))) == 0


def test_what_is_heard_are_chances() -> None:
    """Of noise, too: each row sums to one."""
    sound = np.random.default_rng(2).normal(0, 0.1, 24_000).astype(np.float32)
    rows = load_phones().hear(sound)
    assert rows.shape == (50, len(PHONES) + 1)
    np.testing.assert_allclose(np.exp(rows).sum(axis=1), 1.0, atol=1e-4)


def test_a_file_that_is_no_network_is_refused_in_one_line(tmp_path: Path) -> None:
    """None at all, text, a layer of another shape, and numbers that are none."""
    with pytest.raises(Refusal, match=r"no phone network .*install"):
        load_phones(tmp_path / "none.npz")
    (tmp_path / "text.npz").write_text("no network")
    with pytest.raises(Refusal, match="no phone network"):
        load_phones(tmp_path / "text.npz")
    with np.load(FILE) as data:
        whole = {name: data[name] for name in data.files}
    np.savez(tmp_path / "shape.npz", **(whole | {"ctc.weight": whole["ctc.weight"][:-1]}))
    with pytest.raises(Refusal, match=r"ctc\.weight"):
        load_phones(tmp_path / "shape.npz")
    np.savez(tmp_path / "nan.npz", **(whole | {"ctc.bias": whole["ctc.bias"] * np.float16("nan")}))
    with pytest.raises(Refusal, match="none"):
        load_phones(tmp_path / "nan.npz")
