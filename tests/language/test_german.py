"""German is complete: every sentence has a translation, and a session speaks nothing else."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from num2words import num2words

from assistant.bench import language_files
from assistant.engine.events import Command
from assistant.engine.phrases import command_for, phrases_of
from assistant.tools import catalogue
from assistant.words.language import known, number, say, say_n, speaking
from tests.lanes import drawn

ROOT = Path(__file__).parents[2]
FOLDER = ROOT / "config" / "language" / "de"
JOBS = sorted((ROOT / "config" / "jobs").glob("*.toml"))
_WORD = re.compile(r"[^\W\d_]+(?:-[^\W\d_]+)*")

# Said by nobody here: the jobs' own titles and names, in the language that they are written in.
_OWN = re.compile(r'^\s*(?:title|name)\s*=\s*"([^"]*)"', re.MULTILINE)


def test_the_catalogue_is_in_step_with_the_code() -> None:
    """`python -m assistant.tools.catalogue gather` and `compile` were run after the last change."""
    wanted = ids(catalogue.template())
    assert ids(catalogue.read_catalogue(FOLDER.parent / "messages.pot")) == wanted
    assert ids(catalogue.read_catalogue(FOLDER / "messages.po")) == wanted
    compiled = catalogue.as_mo(catalogue.read_catalogue(FOLDER / "messages.po"))
    assert (FOLDER / "messages.mo").read_bytes() == compiled


def ids(sentences: Any) -> set[str]:
    return {str(message.id) for message in sentences if message.id}


def test_every_sentence_is_translated_with_the_same_parts() -> None:
    """Nothing missing, and no {part} that the English sentence does not fill."""
    german = catalogue.merged(FOLDER / "messages.po")
    assert catalogue.untranslated(german) == list(catalogue.faults(german)) == []


@cache
def german_words() -> frozenset[str]:
    """Every word of the German catalogue and phrases, and the words of numbers."""
    texts = []
    for message in catalogue.read_catalogue(FOLDER / "messages.po"):
        if message.id:
            texts += message.string if isinstance(message.string, tuple) else [message.string]
    german = language_files.load_language("de")
    texts += [phrase for several in german.phrases.values() for phrase in several]
    texts += [num2words(n, lang="de") for n in range(2000)]
    return frozenset(word.lower() for text in texts for word in _WORD.findall(text))


def rehearsed(job: Path, folder: Path) -> list[str]:
    """Everything that a German rehearsal of the job says."""
    lines = [{"say": phrase} for several in phrases_of(known("en")).values() for phrase in several]
    lines += [{"size": "19.05"}, {"presses": 2}, {"press": "main", "held_ms": 1200}]
    lines += [{"lost": name} for name in ("pedal", "ear", "microphone", "speaker", "keyboard")]
    lines += [{"returned": name} for name in ("pedal", "ear", "microphone", "speaker")]
    lines += [{"note": "Grat"}, {"say": "was kommt jetzt"}, {"restart": True}]
    script = [*lines, *[{"press": "main"}] * 60, *lines, *[{"press": "main"}] * 160]
    done = subprocess.run(
        [sys.executable, "-m", "assistant", "rehearse", str(job), "--language", "de", "--json"],
        input="\n".join(map(json.dumps, script)),
        env={**os.environ, "TALLYHAND_DATA": str(folder)},
        capture_output=True, text=True, check=False, cwd=ROOT,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    return [line["said"] for line in map(json.loads, done.stdout.splitlines()) if "said" in line]


@pytest.mark.parametrize("job", drawn(JOBS, 3, lambda job: job.stem))
def test_no_english_is_left_in_a_german_session(job: Path, tmp_path: Path) -> None:
    """Every word said stands in the German catalogue, or in the job file as its owner wrote it."""
    said = rehearsed(job, tmp_path)
    own = {w.lower() for text in _OWN.findall(job.read_text("utf-8")) for w in _WORD.findall(text)}
    own |= set("abcdefgh")  # names of plates
    strange = {
        word
        for text in said
        for word in _WORD.findall(text)
        if word.lower() not in german_words() and word.lower() not in own
    }
    assert strange == set()
    assert len(said) > 100


def test_numbers_and_plurals_are_german() -> None:
    """The words of numbers by a general library (num2words), one and many by the catalogue."""
    language_files.load_language("de")
    with speaking("de"):
        assert number(21) == "einundzwanzig"
        assert say_n(1, "one turn", "{count} turns") == "eine Umdrehung"
        assert say_n(4, "one turn", "{count} turns") == "vier Umdrehungen"
        assert say("Lock the spindle.") == "Spindel klemmen."
    assert say("Lock the spindle.") == "Lock the spindle."


def test_every_command_has_a_german_phrase_of_its_own() -> None:
    """Two words or more, and no phrase inside another, as in English."""
    german = language_files.load_language("de")
    assert set(german.phrases) == {command.value for command in Command}
    phrases = [phrase.lower() for several in german.phrases.values() for phrase in several]
    assert len(set(phrases)) == len(phrases)
    for phrase in phrases:
        assert 2 <= len(phrase.split()) <= 6
        assert not any(phrase in other for other in phrases if other != phrase)
    assert command_for("Spindel ist fest") is Command.LOCKED
