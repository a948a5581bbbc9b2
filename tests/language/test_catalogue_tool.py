"""`python -m assistant.tools.catalogue`, for translators: its slips, and what it leaves alone."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from assistant.tools import catalogue
from tests.commands import ROOT


def told(capsys: pytest.CaptureFixture[str]) -> str:
    """The one line of complaint."""
    lines = capsys.readouterr().err.splitlines()
    assert len(lines) == 1, lines
    return lines[0]


def test_without_a_word_it_says_what_it_does(capsys: pytest.CaptureFixture[str]) -> None:
    """Its commands, and exit 2."""
    assert catalogue.main([]) == 2
    shown = capsys.readouterr().out
    for word in ("gather", "begin", "compile", "join"):
        assert f"python -m assistant.tools.catalogue {word}" in shown


def test_begun_and_compiled(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A language that nobody has translated yet is whole, and each sentence is named."""
    folder = tmp_path / "nl"
    assert catalogue.main(["begin", "nl", str(folder)]) == 0
    assert catalogue.main(["compile", str(folder)]) == 0
    assert 'numbers = "nl"' in (folder / "language.toml").read_text()
    count = len(catalogue.template())
    *named, last = capsys.readouterr().out.splitlines()[1:]
    assert last.endswith(f"{count} sentences, {count} not translated")
    assert len(named) == count and "not translated: 'Note {n} taken.'" in named


def test_a_language_that_ships_is_begun_without_its_small_file(tmp_path: Path) -> None:
    """What it says of voice and numbers would lie over the program's."""
    assert catalogue.main(["begin", "de", str(tmp_path / "de")]) == 0
    assert not (tmp_path / "de" / "language.toml").exists()


def test_what_is_begun_is_not_begun_again(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Translations would be lost: refused, and the file is as it was."""
    po = tmp_path / "messages.po"
    po.write_text("# all my work\n")
    assert catalogue.main(["begin", "nl", str(tmp_path)]) == 1
    assert told(capsys).startswith(f"catalogue: {po}: is there already")
    assert po.read_text() == "# all my work\n"


@pytest.mark.parametrize("code", ["q!", "xx_YY_ZZ_qq"])
def test_a_code_of_no_language(
    code: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """What a right one looks like is told, and no folder is made."""
    assert catalogue.main(["begin", code, str(tmp_path / "new")]) == 1
    assert told(capsys).endswith("give a language's code, as nl or pt_BR")
    assert not (tmp_path / "new").exists()


def test_parts_that_differ_are_not_compiled(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A part with another name would end a session in the middle of a sentence."""
    assert catalogue.main(["begin", "nl", str(tmp_path)]) == 0
    po = tmp_path / "messages.po"
    made = catalogue.read_catalogue(po)
    made.get("Note {n} taken.").string = "Notitie {m} genomen."
    po.write_bytes(catalogue.as_po(made))
    capsys.readouterr()
    assert catalogue.main(["compile", str(tmp_path)]) == 1
    line = told(capsys)
    assert line.startswith(f"{po}: 'Notitie {{m}} genomen.': ") and "{m}" in line
    assert not (tmp_path / "messages.mo").exists()


def test_two_translations_are_joined(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """What one lacks comes from the other; what it has stays, plurals as well."""
    note = "Note {n} taken."
    for name, words in (("mine", ("Eins.", "", "")), ("other", ("Uno.", "Zwei {n}.", "Drei"))):
        assert catalogue.main(["begin", "de", str(tmp_path / name)]) == 0
        made = catalogue.read_catalogue(tmp_path / name / "messages.po")
        made.get("Paused").string, made.get(note).string = words[:2]
        made.get("one turn").string = (words[2], words[2])
        (tmp_path / name / "messages.po").write_bytes(catalogue.as_po(made))
    mine, other = (tmp_path / name / "messages.po" for name in ("mine", "other"))
    capsys.readouterr()
    assert catalogue.main(["join", str(mine), str(other)]) == 0
    assert capsys.readouterr().out == f"{mine}: 2 taken from {other}\n"
    joined = catalogue.read_catalogue(mine)
    assert [joined.get(key).string for key in ("Paused", note)] == ["Eins.", "Zwei {n}."]
    assert joined.get("one turn").string == ("Drei", "Drei")


@pytest.mark.parametrize("text", [None, 'msgid "half', "\x00\xff"])
def test_a_catalogue_that_can_not_be_read(
    text: str | None, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Missing or damaged: its file and the cure."""
    po = tmp_path / "messages.po"
    if text is not None:
        po.write_text(text, "latin-1")
    assert catalogue.main(["compile", str(tmp_path)]) == 1
    line = told(capsys)
    assert line.startswith(f"catalogue: {po}: ") and "begin one anew" in line


def test_gathering_keeps_every_translation(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A sentence that the catalogues had lost comes back, without a translation; one that no code
    says any more goes; the others keep theirs, letter for letter."""
    shutil.copytree(ROOT / "config" / "language", tmp_path / "language")
    monkeypatch.setattr(catalogue, "config_folder", lambda: tmp_path)
    pot, po = tmp_path / "language" / "messages.pot", tmp_path / "language" / "de" / "messages.po"
    catalogue.main(["gather"])
    whole, german = pot.read_bytes(), catalogue.read_catalogue(po)
    changed = catalogue.read_catalogue(po)
    changed.delete("Note {n} taken.")
    changed.add("Said long ago.", "Vor langer Zeit gesagt.")
    po.write_bytes(catalogue.as_po(changed))
    pot.write_bytes(b"")
    assert catalogue.main(["gather"]) == 0
    assert pot.read_bytes() == whole
    again = catalogue.read_catalogue(po)
    assert again.get("Note {n} taken.").string == "" and again.get("Said long ago.") is None
    kept = {m.id: m.string for m in again if m.id and m.id != "Note {n} taken."}
    assert kept == {m.id: m.string for m in german if m.id and m.id != "Note {n} taken."}
