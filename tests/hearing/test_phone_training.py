"""How the phone network is trained: who is heard, what is said, and that it learns."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pytest

from assistant.engine.phrases import LOCK_AND_GUARD
from assistant.errors import Refusal
from assistant.hearing.phones.network import BLANK, PHONES, bands, load_phones
from assistant.hearing.phones.scoring import sounds
from assistant.hearing.spoken_numbers import number_from
from assistant.hearing.training.phones import train_phones
from assistant.hearing.training.phones.parts import (
    CHOICES,
    FIGURES,
    UNTOUCHED,
    part_of_person,
    trained,
)
from assistant.hearing.training.phones.people import strings, words_by_people
from assistant.hearing.training.phones.speaking import Counts, voice_plan
from assistant.hearing.training.phones.store import Store, stored
from assistant.hearing.training.phones.takes import Take, load_takes, samples, save_takes
from assistant.hearing.training.phones.texts import random_size, random_text, sounds_of
from assistant.hearing.vocabulary import built_in
from assistant.hearing.waves import RATE, Wave, write_sound

if TYPE_CHECKING:
    from assistant.hearing.training.phones.band_spoiling import Spoiler

PHRASES = sorted(built_in())
STRICT = [phrase for phrase in PHRASES if built_in()[phrase] in LOCK_AND_GUARD]
SPEAKERS = ["af_heart", "bm_daniel", "jf_alpha", *FIGURES, *CHOICES, *UNTOUCHED]


def tone(hertz: float, seconds: float = 0.4) -> Wave:
    times = np.arange(round(seconds * RATE)) / RATE
    return np.asarray(0.3 * np.sin(2 * np.pi * hertz * times), np.float32)


def take(hertz: float, said: str, kind: str = "number", source: str = "kokoro") -> Take:
    made = samples(tone(hertz))
    assert made is not None
    return Take(made, sounds(said), kind, source)


def test_nobody_is_on_two_sides() -> None:
    """Nobody is trained on who is kept for figures, for choices, or for checks from outside."""
    assert not (UNTOUCHED & FIGURES or UNTOUCHED & CHOICES or FIGURES & CHOICES)
    assert trained(SPEAKERS) == ["af_heart", "bm_daniel", "jf_alpha"]
    named = {
        name
        for line in voice_plan(SPEAKERS, PHRASES, STRICT, Counts(300, 0, 0))
        for name, _ in line.blend
    }
    assert named == {"af_heart", "bm_daniel", "jf_alpha"}


def test_people_are_parted_by_their_id() -> None:
    found = Counter(part_of_person(f"{first:x}0123456") for first in range(16))
    assert found == {"train": 8, "choices": 2, "figures": 2, "untouched": 4}
    assert part_of_person("0b40aa8e") == part_of_person("3ab9ba07") == "untouched"
    with pytest.raises(ValueError, match="no person"):
        part_of_person("somebody")


def test_the_plan_is_the_same_each_time() -> None:
    """And its shares of a whole are one: a blend is a voice, not a louder one."""
    one, other = (
        voice_plan(SPEAKERS, PHRASES, STRICT, Counts(60, 20, 10, 30, 10)) for _ in range(2)
    )
    assert one == other and len(one) == 130
    for line in one:
        assert [bool(line.blend), bool(line.accent), bool(line.flite)].count(True) == 1
        assert not line.blend or sum(share for _, share in line.blend) == pytest.approx(1)


def test_the_kinds_of_texts_have_their_shares() -> None:
    """Within four standard deviations of 2,000 draws; phrases are told by their place."""
    rng = np.random.default_rng(3)
    made = [random_text(rng, PHRASES, STRICT) for _ in range(2000)]
    counts = Counter(each.kind for each in made)
    shares = {"phrase": 0.34, "near": 0.15, "word": 0.07, "talk": 0.19, "number": 0.25}
    for kind, share in shares.items():
        assert abs(counts[kind] / 2000 - share) < 4 * (share * (1 - share) / 2000) ** 0.5
    for each in made:
        assert (each.phrase >= 0) == (each.kind == "phrase")
        assert each.phrase < 0 or PHRASES[each.phrase] == each.words


def test_most_numbers_are_numbers() -> None:
    """Some are single words as "hundred" or "thou", and five figures in a row, which are none."""
    rng = np.random.default_rng(4)
    made = [random_size(rng) for _ in range(500)]
    assert sum(number_from(each) is not None for each in made) > 425
    assert any(each.endswith(" thou") for each in made)


def test_phonemes_become_phones() -> None:
    """Stress, length and stops fall out; a tap is a t (letters of the International Phonetic
    Alphabet, 2020 chart: ˈ primary stress, ː long, ɾ alveolar tap)."""
    assert sounds_of("ˈfɔːɾi.") == sounds("fɔti")
    assert sounds_of("sˈɪks") == sounds("sɪks")


def test_takes_come_back_from_their_file(tmp_path: Path) -> None:
    several = [take(300, "wʌn"), take(500, "tu", "human", "figure")]
    save_takes(several, tmp_path / "takes.npz")
    back = load_takes(tmp_path / "takes.npz")
    for one, other in zip(several, back, strict=True):
        np.testing.assert_array_equal(one.sound, other.sound)
        assert replace(one, sound=other.sound) == other
    (tmp_path / "torn.npz").write_bytes((tmp_path / "takes.npz").read_bytes()[:200])
    with pytest.raises(Refusal, match="delete it"):
        load_takes(tmp_path / "torn.npz")


@pytest.mark.parametrize("seconds", [0.0, 0.05, 13.0])
def test_too_short_or_too_long_is_no_take(seconds: float) -> None:
    assert samples(tone(400, seconds)) is None
    assert samples(np.full(8000, np.nan, np.float32)) is None


def people(folder: Path) -> None:
    """Three words by two people, one of them kept apart, in both ways of naming."""
    silence = np.zeros(RATE // 4, np.float32)
    for name in ("six/5a1b2c3d_nohash_0", "yes/5a1b2c3d_nohash_1", "other/cat_9abcdef0_nohash_0",
                 "six/0a1b2c3d_nohash_0"):  # fmt: skip
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        write_sound(folder / f"{name}.wav", np.concatenate([silence, tone(440, 0.5), silence]))


def spoken(word: str, british: bool) -> tuple[int, ...]:
    return sounds({"six": "sɪks", "yes": "jɛs", "cat": "kæt"}[word])


def test_words_by_people_are_read_and_cut(tmp_path: Path) -> None:
    """Those of the training alone, without most of the silence around the word."""
    people(tmp_path)
    found = words_by_people(tmp_path, spoken)
    assert [(each.sounds, each.source) for each in found] == [
        (sounds("kæt"), "word"), (sounds("sɪks"), "figure"), (sounds("jɛs"), "frequent")
    ]  # fmt: skip
    assert all(0.5 * RATE < len(each.sound) < 0.8 * RATE for each in found)
    with pytest.raises(Refusal, match="no words by people"):
        words_by_people(tmp_path / "yes", spoken, "choices")


def test_words_are_put_one_after_another(tmp_path: Path) -> None:
    people(tmp_path)
    made = strings(np.random.default_rng(5), words_by_people(tmp_path, spoken), 40)
    assert len(made) == 40
    assert {len(row.sounds) // 4 for row in made if row.source == "figures"} <= {2, 3, 4, 5}
    assert {row.source for row in made} == {"figures", "words"}
    point = take(300, "pYnt")
    with_points = strings(np.random.default_rng(5), words_by_people(tmp_path, spoken), 40, [point])
    pointed = [row for row in with_points if set(point.sounds) <= set(row.sounds)]
    assert pointed and all(row.source == "figures" for row in pointed)
    assert all(2 * 0.25 * RATE < len(row.sound) < 80_000 for row in made)


def test_a_batch_draws_by_kind_and_weight() -> None:
    """Kinds without a take are none of it; espeak-ng counts 0.35 of another synthesiser."""
    store = stored([take(300, "wʌn"), take(400, "tu", source="espeak-ng"),
                    take(500, "sɪks", "human", "word")])  # fmt: skip
    drawn = store.draw(np.random.default_rng(1), 4000)
    counts = np.bincount(drawn, minlength=3) / 4000
    number_share = 0.25 / (0.25 + 0.21)
    wanted = [number_share / 1.35, number_share * 0.35 / 1.35, 1 - number_share]
    np.testing.assert_allclose(counts, wanted, atol=4 * 0.5 / 4000**0.5)
    several = store.batches(np.random.default_rng(1), 16)
    assert len(several) == 6 and all(len(each) == 16 for each in several)


def test_without_what_it_needs_it_says_so(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(train_phones.util, "find_spec", lambda name: None)
    given = ["--speakers", str(tmp_path), "--people", str(tmp_path)]
    assert train_phones.main(given) == 1
    assert "PyTorch" in capsys.readouterr().err


def test_the_training_hears_through_the_same_layers(tmp_path: Path) -> None:
    """The network that is fitted and the one that listens give the same chances."""
    torch = pytest.importorskip("torch")
    from assistant.hearing.training.phones.torch_network import forward, fresh_weights, save_network

    weights = fresh_weights(5, 3, "cpu")
    with torch.no_grad():
        file = tmp_path / "made.npz"
        save_network(weights, file)
        halves = {name: value.half().float() for name, value in weights.items()}
        sound = np.random.default_rng(1).normal(0, 0.1, 30_000).astype(np.float32)
        seen = bands(sound)
        inputs = torch.tensor(np.pad(seen, ((0, 7), (0, 0)))[None].tolist())
        made = forward(halves, inputs, torch.tensor([len(seen)]))
        rows = made.phones.log_softmax(-1)[0, : int(made.rows[0])].tolist()
    np.testing.assert_allclose(rows, load_phones(file).hear(sound), atol=2e-3)


def two_words() -> tuple[Store, Callable[[int], Spoiler]]:
    """Two words of tones, four takes of each, over two stretches of machine sound."""
    from assistant.hearing.training.phones.band_spoiling import Spoiler

    store = stored([take(350 + 20 * n, "wʌn") for n in range(4)]
                   + [take(2000 + 90 * n, "sɪks") for n in range(4)])  # fmt: skip
    return store, lambda seed: Spoiler(store, train_phones.noise_stretches(2), "cpu", seed)


def test_a_short_course_learns_two_words_of_tones(tmp_path: Path) -> None:
    """From nothing to less than 0.6 of the loss, on the processor, and heard by what listens."""
    pytest.importorskip("torch")
    from assistant.hearing.training.phones.phone_fitting import PhoneCourse, fit_phones
    from assistant.hearing.training.phones.torch_network import save_network

    store, spoiler = two_words()
    course = PhoneCourse(steps=16, batch=4, warm=3, keep=0.7, seed=1)
    made, losses = fit_phones(store, spoiler(1), 2, course, "cpu", lambda line: None)
    assert np.mean(losses[-3:]) < 0.6 * np.mean(losses[:2])
    save_network(made, tmp_path / "phones.npz")
    rows = load_phones(tmp_path / "phones.npz").hear(np.pad(tone(2000), (6000, 4000)))
    assert rows.shape[1] == len(PHONES) + 1 and rows[:, BLANK].max() < 0


def test_a_course_that_was_broken_off_goes_on(tmp_path: Path) -> None:
    """Two seeds from one beginning and one that learns from both; what is kept is not fitted anew,
    and a torn file is told."""
    torch = pytest.importorskip("torch")
    from assistant.hearing.training.phones.courses import Courses, Fitting

    store, spoiler = two_words()
    told: list[str] = []
    fitting = Fitting(store, spoiler, 2, 4, "cpu", tmp_path, told.append)
    courses = Courses(trunk=1, seeds=2, first=1, steps=2, pupil=1)
    first = fitting.pupil(courses)
    kept = sorted(file.name for file in tmp_path.iterdir())
    assert kept == ["pupil.npz", "seed-1.npz", "seed-2.npz", "trunk.npz"]
    again = fitting.pupil(courses)
    assert all(torch.equal(first[name], again[name]) for name in first)
    seeds = [fitting.seed(number, courses)["ctc.weight"] for number in (1, 2)]
    assert not torch.equal(*seeds)
    (tmp_path / "pupil.npz").write_bytes(b"torn")
    with pytest.raises(Refusal, match=r"pupil\.npz: no weights .*delete it"):
        fitting.pupil(courses)


def test_being_sure_costs_and_teachers_are_followed() -> None:
    """Of two outputs that fit the phones alike the less sure one costs less; to hear as the
    teachers do costs nothing, anything else does (Kullback and Leibler's distance is 0 only for
    the same chances)."""
    torch = pytest.importorskip("torch")
    from assistant.hearing.training.phones.phone_fitting import loss, unlike
    from assistant.hearing.training.phones.torch_network import Outputs

    _, spoiler = two_words()
    batch = spoiler(1).batch(np.arange(2), 4, np.random.default_rng(1))
    rows = torch.tensor([40, 40])
    chances = torch.randn(2, 40, len(PHONES) + 1, generator=torch.Generator().manual_seed(1))
    made = Outputs(chances, chances, torch.zeros(2, 4), rows)
    assert float(loss(made, batch, 0.1)) < float(loss(made, batch, 0.0))
    told = chances.softmax(-1)
    assert float(unlike(made, told, batch)) == pytest.approx(0, abs=1e-5)
    assert float(unlike(made, told.roll(1, -1), batch)) > 0.1
