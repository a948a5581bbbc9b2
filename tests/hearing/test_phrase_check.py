"""Own phrases: unknown words and like sounds are found, with the line and something to say."""

from __future__ import annotations

from itertools import combinations
from pathlib import Path

import pytest

from assistant.bench import language_files
from assistant.engine.asked import COMMANDS, Command
from assistant.hearing import vocabulary
from assistant.hearing.phrase_check import doubts, suggestions
from assistant.hearing.pronunciation import TOO_NEAR, apart, dictionary, phones, unknown_words
from assistant.hearing.recognisers.grammar import GrammarEar
from assistant.words.language import known, speaking
from tests.commands import tallyhand

WORDS = {Command.FEWER_WORDS, Command.MORE_WORDS}


@pytest.fixture
def own(tmp_path: Path) -> Path:
    """A phrases file with a word that is none, and two phrases that differ in one consonant."""
    file = tmp_path / "phrases.toml"
    file.write_text(
        "# mine\n"
        'locked = ["brake is on"]\n'
        "say-again = [\n"
        '    "tell me that again",\n'
        '    "repeet that pleez",\n'
        "]\n"
        'place-right = ["hold the job"]\n'
    )
    return file


def test_each_fault_has_its_line_and_a_cure(own: Path) -> None:
    """The line of the phrase itself, also within a list of several lines."""
    found = {(doubt.line, doubt.text) for doubt in doubts(own)}
    assert {line for line, _ in found} == {2, 5, 7}
    texts = " ".join(text for _, text in found)
    assert "'brake is on' sounds like 'lock is off' (released); say instead" in texts
    assert "'hold the job' sounds like 'pause the job' (pause); say instead" in texts
    assert "no word 'repeet'" in texts and "no word 'pleez'" in texts
    assert "repeat" in texts


def test_the_command_tells_each_in_a_line(own: Path) -> None:
    """`tallyhand phrases check`: a finding a line, exit code 1; none where all is well."""
    done = tallyhand("phrases", "check", str(own))
    assert done.returncode == 1 and done.stdout == ""
    assert all(line.startswith(f"{own} line ") for line in done.stderr.splitlines())
    own.write_text('say-again = ["repeat that for me"]\n')
    done = tallyhand("phrases", "check", str(own))
    assert (done.returncode, done.stderr) == (0, "")


@pytest.mark.parametrize("code", ["en", "de"])
def test_the_programs_own_phrases_lie_apart(code: str) -> None:
    """By the same measure, in both languages; and all English words are known."""
    language_files.load_language(code)
    with speaking(code):
        brought = vocabulary.built_in()
        for one, other in combinations(brought, 2):
            if {brought[one], brought[other]} == WORDS:
                continue  # one for the other costs a few words, never a cut
            if brought[one] is not brought[other]:
                distance = apart(phones(one, known(code)), phones(other, known(code)))
                assert distance >= TOO_NEAR, (one, other, distance)
        if code == "en":
            assert not [word for phrase in brought for word in unknown_words(phrase)]


def test_every_suggestion_passes_the_check(tmp_path: Path) -> None:
    """All of them together in one file give no finding."""
    suggested = {command: row.instead for command, row in COMMANDS.items()}
    file = tmp_path / "phrases.toml"
    lines = [f"{command.value} = {list(phrases)}" for command, phrases in suggested.items()]
    file.write_text("\n".join(lines).replace("'", '"'))
    assert doubts(file) == []
    for command, phrases in suggested.items():
        assert suggestions(command, vocabulary.built_in()) == list(phrases)


def test_the_distance_is_that_of_sounds() -> None:
    """The same is 0, a like phone half a change, another a whole one (phones: CMUdict)."""
    assert dictionary()["cut"] == ("K", "AH", "T")
    assert apart(("K", "AH", "T"), ("K", "AH", "T")) == 0
    assert apart(("K", "AH", "T"), ("G", "AH", "T")) == pytest.approx(0.5 / 3)
    assert apart(("K", "AH", "T"), ("M", "AH", "T")) == pytest.approx(1 / 3)
    assert apart(("K", "AH"), ("S", "M", "IY")) > apart(("K", "AH"), ("K", "AE"))
    assert apart((), ()) == 0


def test_the_grammar_ear_leaves_out_what_it_cannot_know(
    own: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A word that the dictionary lacks costs its own phrase, not the ear."""
    monkeypatch.setattr(vocabulary, "phrases_file", lambda: own)
    ear = GrammarEar()
    assert [note for note in ear.notes if "repeet" in note or "pleez" in note]
    assert len(ear.notes) == 1


def test_several_ways_to_say_a_thing_are_all_heard(own: Path) -> None:
    """The person's own phrases stand beside the program's."""
    heard = vocabulary.read_vocabulary(own)
    assert heard["tell me that again"] is heard["say again"] is Command.SAY_AGAIN
