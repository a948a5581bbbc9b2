"""`tallyhand voice` and the training command: bad input told in one line, forgetting complete."""

from __future__ import annotations

from pathlib import Path

import pytest

from assistant.__main__ import main
from assistant.hearing.model_files import base_classifier, classifier_file
from assistant.hearing.training import train


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    place = tmp_path / "voice"
    monkeypatch.setenv("TALLYHAND_VOICE", str(place))
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    return place


def test_forgetting_deletes_recordings_and_classifier(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """One command, and nothing of the person is left on the disk; a second time is no error."""
    (folder / "recordings").mkdir(parents=True)
    (folder / "recordings" / "cut-done.1.wav").write_bytes(b"x")
    (folder / "learned.npz").write_bytes(b"x")
    assert main(["voice", "forget"]) == 0
    assert not folder.exists()
    assert main(["voice", "forget"]) == 0
    assert "nothing to delete" in capsys.readouterr().out


def test_forgetting_keeps_a_classifier_for_own_phrases(folder: Path) -> None:
    """It was trained on synthetic voices and holds nothing of the person."""
    folder.mkdir()
    (folder / "phrases.npz").write_bytes(b"x")
    (folder / "learned.npz").write_bytes(b"x")
    assert (
        classifier_file() == folder / "learned.npz" and base_classifier() == folder / "phrases.npz"
    )
    assert main(["voice", "forget"]) == 0
    assert [file.name for file in folder.iterdir()] == ["phrases.npz"]


def test_a_phrase_that_is_none(capsys: pytest.CaptureFixture[str]) -> None:
    """Wrong use, with the phrases there are."""
    assert main(["voice", "learn", "--phrase", "open sesame"]) == 2
    assert "spindle locked" in capsys.readouterr().err


def test_status_says_what_is_known(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Where the recordings are, how many, and whether anything was learned."""
    assert main(["voice"]) == 0
    told = capsys.readouterr().out
    assert str(folder) in told
    assert "not learned" in told


@pytest.mark.parametrize("given", ["none", "empty", "broken"])
def test_folders_that_teach_nothing(
    given: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Missing, empty, or with a file that is no sound: one line, exit 1, nothing learned."""
    place = tmp_path / given
    if given != "none":
        place.mkdir()
    if given == "broken":
        (place / "cut-done.1.wav").write_text("no sound")
    assert main(["voice", "learn", "--from", str(place)]) == 1
    told = capsys.readouterr().err
    assert told.count("\n") == 1
    assert str(place) in told


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["--takes", "0"], "at least one"),
        (["--phrases", "/no/such/phrases.toml"], "/no/such/phrases.toml"),
    ],
)
def test_training_that_can_not_begin(
    words: list[str], told: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """Refused before anything is spoken, with the cure."""
    assert train.main(words) == 1
    error = capsys.readouterr().err
    assert told in error
    assert error.count("\n") == 1
