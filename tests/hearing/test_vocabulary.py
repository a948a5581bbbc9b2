"""The user's own phrases."""

from __future__ import annotations

from pathlib import Path

import pytest

from assistant.engine.events import Command
from assistant.engine.phrases import PHRASES, normalise
from assistant.errors import Refusal
from assistant.hearing import vocabulary


def read(tmp_path: Path, text: str) -> vocabulary.Vocabulary:
    file = tmp_path / "phrases.toml"
    file.write_text(text)
    return vocabulary.read_vocabulary(file)


def test_own_phrases_stand_beside_the_built_in_ones(tmp_path: Path) -> None:
    """A user's words for a command are added; the program's own stay."""
    known = read(tmp_path, 'locked = ["brake is on"]\nsay-again = ["pardon me there"]\n')
    assert known["brake is on"] is Command.LOCKED
    assert known["spindle locked"] is Command.LOCKED
    assert known["pardon me there"] is Command.SAY_AGAIN


def test_every_built_in_phrase_is_known() -> None:
    """The vocabulary follows the program's phrases, however many there are."""
    wanted = {normalise(p): c for c, phrases in PHRASES.items() for p in phrases}
    assert vocabulary.built_in() == wanted


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("locked = [", "phrases.toml"),
        ('\nlock = ["brake is on"]', "line 2: lock: no such command"),
        ('locked = "brake is on"', "wants a list"),
        ('locked = ["brake"]', "2 to 6 words"),
        ('locked = ["a b c d e f g"]', "2 to 6 words"),
        ('locked = [""]', "English words"),
        ("locked = [7]", "English words"),
        ('locked = ["brake 2 on"]', "English words"),
        ('locked = ["Bremse schließt"]', "English words"),
        ('say-again = ["spindle locked please"]', "inside the other"),
        ('locked = ["brake on"]\nguarded = ["the brake on"]', "line 2"),
        ('pause = ["spindle blocked"]', "sounds like 'spindle locked'; choose other words"),
        ('say-again = ["cut gone"]', "sounds like 'cut done'"),
    ],
)
def test_phrases_that_will_not_do(tmp_path: Path, text: str, told: str) -> None:
    """One line: the file, the line, what is wrong; nothing is half taken."""
    with pytest.raises(Refusal) as refused:
        read(tmp_path, text)
    assert told in str(refused.value)
    assert "phrases.toml" in str(refused.value)
    assert "\n" not in str(refused.value)


def test_a_named_file_that_is_missing(tmp_path: Path) -> None:
    """A file that was named must be there."""
    with pytest.raises(Refusal, match="name a phrases file"):
        vocabulary.read_vocabulary(tmp_path / "none.toml")
