"""The manual says what the program says, its phrases are phrases, and its pictures are its own."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from PIL import Image

from assistant.engine.phrases import command_for
from tests.commands import JOBS, PINION, ROOT, tallyhand
from tests.docs import house, pictures
from tests.docs.pages import PAGES

MANUAL = ROOT / "docs" / "manual.md"
CUT = ("spindle locked", "guard closed", "cut done")
MOVE = ("lock is off", "pin is home")
PRESS = '{"press": "main"}'


def said(job: Path, script: list[str], folder: Path, *more: str) -> set[str]:
    """Every sentence of a rehearsal."""
    lines = "\n".join(
        each if each.startswith("{") else json.dumps({"say": each}) for each in script
    )
    words = ("rehearse", job, "--script", "-", "--json", "--data", folder, *more)
    done = tallyhand(*words, given=lines)
    assert not done.stderr
    found = (json.loads(line) for line in done.stdout.splitlines())
    return {each["said"] for each in found if "said" in each}


@pytest.fixture(scope="module")
def sentences(tmp_path_factory: pytest.TempPathFactory) -> set[str]:
    """Both jobs of the manual, with the slips and the sizes that it tells of."""
    folder = tmp_path_factory.mktemp("rehearsed")
    overshot = ["lock is off", "went past the hole", "half turn back", "pin is home"]
    mended = [*[PRESS] * 9, *CUT, *MOVE, *CUT, *overshot, "lost my count"]
    whole = [*[PRESS] * 9, *[*CUT, *MOVE] * 21, "back at the start"]
    sized = [*CUT, *MOVE, *CUT, '{"size": "24.62"}', "reading is true"]
    again = [each.replace("24.62", "24.1") for each in sized]
    rest = [*MOVE, *[*CUT, *MOVE] * 4, "back at the start"]
    measured = [*[PRESS] * 10, *sized, *rest, *again, "guard closed", "cut done"]
    under = [*[PRESS] * 10, *[each.replace("24.62", "23.2") for each in sized]]
    return (
        said(PINION, mended, folder)
        | said(JOBS / "hexagon-plug.toml", under, folder)
        | said(PINION, whole, folder)
        | said(PINION, [PRESS] * 60, folder, "--words", "few")
        | said(JOBS / "hexagon-plug.toml", measured, folder)
    )


def quoted() -> list[str]:
    text = MANUAL.read_text("utf-8")
    return [line[2:] for line in text.splitlines() if line.startswith("> ")]


def test_what_the_manual_quotes_is_said(sentences: set[str]) -> None:
    """Word for word, in a rehearsal of the jobs that it tells of."""
    assert len(quoted()) >= 9
    for line in quoted():
        assert line in sentences, line


def test_the_manual_names_phrases_as_they_are() -> None:
    """Every phrase between curly quotes is one that is listened for, but for sizes and titles."""
    text = " ".join(MANUAL.read_text("utf-8").split())
    phrases = set(re.findall(r"“([^”]+)”", text))
    assert len(phrases) >= 15
    assert {each for each in phrases if command_for(each) is None} == {"twenty-four point six two"}


def test_it_is_read_in_ten_minutes() -> None:
    """At 220 words a minute, a slow reader of plain prose (common figure, from memory); rows that
    are made are looked up, not read."""
    read = re.sub("<!-- made.*?<!-- so far -->", "", MANUAL.read_text("utf-8"), flags=re.DOTALL)
    assert len(read.split()) <= 10 * 220


def test_drawings_are_those_of_the_program() -> None:
    """The plates and parts in docs/pictures are what the program draws now."""
    for name, text in pictures.drawings().items():
        kept = pictures.PICTURES / name
        assert kept.read_text("utf-8") == text, f"{name}: python -m tests.docs.pictures"


def test_every_picture_is_shown_and_has_words() -> None:
    """None left over, none missing, each with a text for those who can't see it."""
    shown = set()
    for page in PAGES:
        # What a recipe gives to be saved is another page's.
        text = re.sub(r"(?ms)^(`{3,}).*?^\1$", "", page.read_text("utf-8"))
        for words, link in re.findall(r"!\[([^\]]*)\]\(([^)]+)\)", text):
            file = (page.parent / link).resolve()
            assert file.is_file(), f"{page.name}: {link}"
            assert len(words) > 15, f"{page.name}: {link} has no words"
            shown.add(file)
    kept = {path for path in pictures.PICTURES.iterdir() if path.suffix != ".css"}
    assert kept - shown == set()


def test_photographs_are_whole() -> None:
    """WebP, as wide as a page needs, none over 150 kilobytes."""
    photographs = sorted(pictures.PICTURES.glob("*.webp"))
    assert len(photographs) >= 3
    for file in photographs:
        with Image.open(file) as image:
            image.load()
            assert image.width >= 800
        assert file.stat().st_size < 150_000


def titles(svg: str) -> set[str]:
    """The names of boxes and arrows in a drawing by Graphviz."""
    return set(re.findall(r"<title>([^<]+)</title>", svg))


def test_the_house_is_drawn_from_the_imports() -> None:
    """Rooms and arrows of docs/pictures/house.svg are those of the code as it is."""
    made = house.drawn(house.reduced(house.dot()))
    assert titles(house.PICTURE.read_text("utf-8")) == titles(made), "python -m tests.docs.house"


def test_the_floors_are_those_of_the_imports() -> None:
    """The table of floors, and the counts, on docs/house.md are those of the code as it is."""
    assert house.PAGE.read_text("utf-8") == house.page(), "python -m tests.docs.house"


def test_the_session_is_drawn_from_the_table() -> None:
    """Steps and arrows of docs/pictures/session.svg are those of the table as it is."""
    from assistant.tools.diagram import dot

    made = house.drawn(dot())
    assert titles(house.SESSION.read_text("utf-8")) == titles(made), "python -m tests.docs.house"
    labels = re.compile(r"<text[^>]*>([^<]+)</text>")
    assert sorted(labels.findall(house.SESSION.read_text("utf-8"))) == sorted(labels.findall(made))
