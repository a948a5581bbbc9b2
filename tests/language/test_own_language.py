"""A language of one's own: a folder beside the settings file, and no code touched."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from babel.messages.catalog import Catalog

from assistant.bench import language_files
from assistant.errors import Refusal
from assistant.job.units import said
from assistant.tools import catalogue
from assistant.words import language
from assistant.words.language import number, on_paper, say, speaking
from assistant.words.moves import move_words
from assistant.words.spoken import capital
from solver import Millimetres, Move

ROOT = Path(__file__).parents[2]
JOB = ROOT / "config" / "jobs" / "hexagon-plug.toml"


def bracketed(text: str) -> str:
    """A language that can't be mistaken for another: each sentence in brackets of its own."""
    return f"⟦{text}⟧"


def make(folder: Path, change: Any = bracketed) -> Path:
    """A whole language at `folder`, begun and compiled by the program's own commands."""
    assert catalogue.main(["begin", "nl", str(folder)]) == 0
    po = folder / "messages.po"
    made = catalogue.read_catalogue(po)
    for message in made:
        if message.id:
            several = isinstance(message.id, tuple)
            message.string = tuple(map(change, message.id)) if several else change(message.id)
    po.write_bytes(catalogue.as_po(made))
    assert catalogue.main(["compile", str(folder)]) == 0
    (folder / "language.toml").write_text('name = "Brackets"\nvoice = "nl"\nnumbers = ""\n')
    return folder


def rehearsed(settings: Path, data: Path) -> list[str]:
    presses = "\n".join([json.dumps({"press": "main"})] * 60)
    done = subprocess.run(
        [sys.executable, "-m", "assistant", "rehearse", str(JOB), "--json"],
        input=presses,
        env={**os.environ, "TALLYHAND_CONFIG": str(settings), "TALLYHAND_DATA": str(data)},
        capture_output=True, text=True, check=False, cwd=ROOT,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    return [line["said"] for line in map(json.loads, done.stdout.splitlines()) if "said" in line]


def test_a_folder_beside_the_settings_is_spoken(tmp_path: Path) -> None:
    """Whatever is said comes out of the catalogue: outside the brackets stands nothing."""
    make(tmp_path / "language" / "xx")
    settings = tmp_path / "tallyhand.toml"
    settings.write_text('[speech]\nlanguage = "xx"\n')
    said = rehearsed(settings, tmp_path / "data")
    assert len(said) > 50
    for text in said:
        bare = text
        while "⟦" in bare:
            bare, before = re.sub(r"⟦[^⟦⟧]*⟧", "", bare), bare
            assert bare != before, text
        assert not re.search(r"\w", bare), text


def begun(folder: Path, code: str, words: dict[Any, Any]) -> Path:
    """A language of which somebody has translated these sentences, and left two."""
    made = Catalog(code, charset="utf-8", fuzzy=False)
    for english, own in {**words, ("one turn", "{count} turns"): ("", ""), "Paused": ""}.items():
        made.add(english, own)
    folder.mkdir()
    (folder / "messages.po").write_bytes(catalogue.as_po(made))
    assert catalogue.main(["compile", str(folder)]) == 0
    return folder


def test_ones_own_lies_over_what_the_program_has(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A sentence and a phrase of one's own take the place of those, and of those alone."""
    monkeypatch.setattr(language, "_known", dict(language._known))
    shipped = language_files.load_language("de")
    folder = begun(tmp_path / "de", "de", {"Press.": "Drück drauf."})
    (folder / "phrases.toml").write_text('locked = ["Hebel ist fest"]\n')
    own = language_files.load_language("de", tmp_path)
    assert own.single("Press.") == "Drück drauf." != shipped.single("Press.")
    assert own.single("Paused") == shipped.single("Paused") != "Paused"
    two = ("one turn", "{count} turns", 2)
    assert own.plural(*two) == shipped.plural(*two) != "{count} turns"
    assert own.phrases == {**shipped.phrases, "locked": ("Hebel ist fest",)}
    assert (own.name, own.voice, own.numbers) == (shipped.name, shipped.voice, shipped.numbers)
    (folder / "language.toml").write_text('voice = "de+f2"\n')
    again = language_files.load_language("de", tmp_path)
    assert (again.name, again.voice, again.numbers) == (shipped.name, "de+f2", shipped.numbers)


def test_phrases_alone_may_lie_over_the_programs_language(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """No sentence need be translated for a phrase of one's own; a catalogue that was not made
    ready is refused all the same."""
    monkeypatch.setattr(language, "_known", dict(language._known))
    (tmp_path / "de").mkdir()
    (tmp_path / "de" / "phrases.toml").write_text('locked = ["Hebel ist fest"]\n')
    own = language_files.load_language("de", tmp_path)
    assert own.phrases["locked"] == ("Hebel ist fest",) and own.single("Paused") != "Paused"
    (tmp_path / "de" / "messages.po").write_text("")
    with pytest.raises(Refusal, match="catalogue compile"):
        language_files.load_language("de", tmp_path)


def test_what_is_not_translated_keeps_its_english_numbers(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """No "acht turns": a sentence is of one language, the parts that are sentences of theirs."""
    monkeypatch.setattr(language, "_known", dict(language._known))
    holes = ("one hole on the {circle} circle", "{count} holes on the {circle} circle")
    begun(tmp_path / "nl", "nl", {holes: ("een gat op {circle}", "{count} gaten op {circle}")})
    (tmp_path / "nl" / "language.toml").write_text('numbers = "nl"\n')
    with speaking(language_files.load_language("nl", tmp_path).code):
        move = Move(4, 8, 18)
        assert move_words(move) == "Four turns, then acht gaten op achttien."
        assert say("Note {n} taken.", n=number(12)) == "Note twelve taken."
        assert say("{n} parts, one after the other.", n=capital(number(12))).startswith("Twelve ")
        assert said(Millimetres(Fraction("12.34")), "mm") == ("twelve point three four millimetres")
        with on_paper():
            assert say("Note {n} taken.", n=number(12)) == "Note 12 taken."


def test_a_language_that_is_not_there_is_one_line(tmp_path: Path) -> None:
    """What there is, and where one of the person's own would go; no way out of the folder."""
    for code in ("xx", "../de", "", "DE/"):
        with pytest.raises(Refusal, match=r"there are de, en; or put its folder into .*language"):
            language_files.load_language(code, tmp_path / "language")


@pytest.mark.parametrize(
    ("change", "why"),
    [
        (lambda text: text.replace("{n}", "{m}"), r"\{m\} is no part"),
        (lambda text: text.replace("{n}", "{n"), r"braces don't match"),
        (lambda text: text.replace("{n}", "{n.__class__}"), r"braces don't match"),
    ],
)
def test_a_wrong_part_is_refused_before_the_session(tmp_path: Path, change: Any, why: str) -> None:
    """It would end the session in the middle of a sentence, or reach into the program."""
    folder = make(tmp_path / "xx")
    made = catalogue.read_catalogue(folder / "messages.po")
    for message in made:
        if message.id == "Note {n} taken.":
            message.string = change(message.id)
    (folder / "messages.mo").write_bytes(catalogue.as_mo(made))
    with pytest.raises(Refusal, match=why):
        language_files.load_language("xx", tmp_path)


def test_damaged_files_are_one_line_with_the_cure(tmp_path: Path) -> None:
    """Whatever stands in them: no traceback, and the file is named."""
    folder = make(tmp_path / "xx")
    whole = (folder / "messages.mo").read_bytes()
    for broken in (b"", b"\x00" * 40, whole[:100], whole[: len(whole) // 2], b"\xff" * 4000):
        (folder / "messages.mo").write_bytes(broken)
        with pytest.raises(Refusal, match=r"messages\.mo.*catalogue compile"):
            language_files.load_language("xx", tmp_path)
    (folder / "messages.mo").unlink()
    with pytest.raises(Refusal, match="catalogue compile"):
        language_files.load_language("xx", tmp_path)
    (folder / "messages.mo").write_bytes(whole)
    for name, text, why in (
        ("language.toml", 'numbers = "tlh"', "numbers = 'tlh'"),
        ("language.toml", "name = ", r"language\.toml line 1"),
        ("phrases.toml", 'lokced = ["a b"]', "lokced: no such command"),
        ("phrases.toml", 'locked = "a b"', "locked wants a list"),
        ("phrases.toml", "format = 9", "newer tallyhand"),
    ):
        kept = (folder / name).read_text() if (folder / name).exists() else ""
        (folder / name).write_text(text)
        with pytest.raises(Refusal, match=why):
            language_files.load_language("xx", tmp_path)
        (folder / name).write_text(kept)
    (folder / "language.toml").write_bytes('name = "Fränkisch"'.encode("latin-1"))
    with pytest.raises(Refusal, match=r"language\.toml: not a text file; save it as UTF-8"):
        language_files.load_language("xx", tmp_path)
    (folder / "language.toml").unlink()
    (folder / "language.toml").mkdir()
    with pytest.raises(Refusal, match=r"language\.toml: Is a directory; make it readable"):
        language_files.load_language("xx", tmp_path)
