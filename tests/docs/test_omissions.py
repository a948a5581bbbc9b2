"""What docs/recipes.md has one write by hand, left out piece by piece: each time a check is red.

A recipe is followed in a fresh copy of the repository, as it stands on the page, with one piece
missing. With nothing missing all the checks are green, so that the red is the omission's own.
"""

from __future__ import annotations

import re
import shlex
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest

from tests.commands import ROOT
from tests.docs.pages import Step, steps
from tests.docs.test_commands import copied, fault, run

PAGE = ROOT / "docs" / "recipes.md"
NOTHING = "nothing"
GERMAN = "config/language/de/messages.po"
EMPTY = re.compile(
    r'^(msgid ((?:".*"\n)+)(?:msgid_plural (?:".*"\n)+)?)((?:msgstr.* ""\n)+)$', re.MULTILINE
)


# What only shows the thing at work, or is among the checks: nothing goes red for somebody by these.
SHOWN = re.compile(r"tallyhand |TALLYHAND_|printf |python -m pytest ")


@dataclass(frozen=True)
class Recipe:
    """`heading` on the page, what is left out of it in turn, and the checks that hold it.

    A piece is a file's path: neither it nor any change of it is made. `instead`: pieces that are no
    file of their own, and what takes the text's place."""

    heading: str
    pieces: tuple[str, ...]
    checks: tuple[str, ...]
    instead: dict[str, Callable[[str], str]]


def _without_tests(text: str) -> str:
    """A file of tests without its tests."""
    return text.partition("\n\ndef test_")[0]


def _without_picture(text: str) -> str:
    return re.sub(r"(?m)^!\[.*\n", "", text)


RECIPES = {
    "question": Recipe(
        "Something a person may ask",
        ("assistant/engine/asked.py", "row.txt", "assistant/engine/wording.py", "sentence.txt",
         "config/language/de/phrases.toml", "docs/changelog.md",
         "tests/engine/test_which_circle.py", GERMAN),
        ("tests/docs/test_named.py", "tests/engine/test_asked.py",
         "tests/engine/test_which_circle.py"),
        {},
    ),
    "setting": Recipe(
        "A setting that a session heeds",
        ("assistant/files/sections.py", "assistant/engine/engine.py", "docs/changelog.md",
         "tests/engine/test_greet.py"),
        ("tests/docs/test_named.py", "tests/engine/test_greet.py"),
        {},
    ),
    "kind": Recipe(
        "A kind of work",
        ("assistant/job/kinds/oil_grooves.py", "config/jobs/oil-bush.toml",
         "docs/work/oil-grooves.md", "tests/kinds/test_oil_grooves.py", "its tests", "its picture",
         "docs/changelog.md", GERMAN),
        ("tests/docs/test_named.py", "tests/kinds/test_oil_grooves.py",
         "tests/work/test_pages.py"),
        {"its tests": _without_tests, "its picture": _without_picture},
    ),
}  # fmt: skip
CASES = [(name, piece) for name, each in RECIPES.items() for piece in (NOTHING, *each.pieces)]


def followed(heading: str) -> list[Step]:
    """The steps between this heading and the next."""
    # A page within the page has headings too.
    text = re.sub(
        r"(?ms)^(`{3,}).*?^\1$",
        lambda found: "\n" * found[0].count("\n"),
        PAGE.read_text("utf-8"),
    )
    lines = text.splitlines()
    first = lines.index(f"## {heading}") + 1
    last = next((n for n in range(first, len(lines)) if lines[n].startswith("## ")), len(lines))
    return [step for step in steps(PAGE) if first < step.line <= last]


def touched(step: Step) -> str:
    """The file that a step writes by hand, or ""; what is put in from a file is that file."""
    if step.file or not step.command.startswith("sed -i"):
        return step.file
    put_in = re.search(r"/e cat (\S+?)'", step.command)
    return put_in[1] if put_in else shlex.split(step.command)[-1]


def translated(text: str) -> str:
    """Each sentence that waits for a translator with itself in its place: the parts are right."""

    def filled(found: re.Match[str]) -> str:
        count = found[3].count("msgstr")
        names = ["msgstr"] if count == 1 else [f"msgstr[{n}]" for n in range(count)]
        return found[1] + "".join(f"{name} {found[2]}" for name in names)

    return EMPTY.sub(filled, text)


def make(recipe: Recipe, left_out: str, folder: Path) -> list[str]:
    """The recipe in the folder but for one piece; what went wrong on the way."""
    wrong = []
    for step in followed(recipe.heading):
        if touched(step) == left_out or SHOWN.match(step.command):
            continue
        text = recipe.instead[left_out](step.text) if left_out in recipe.instead else step.text
        wrong.append(fault(Step(step.line, step.command, step.output, step.file, text), folder))
    if left_out != GERMAN:
        po = folder / GERMAN
        po.write_text(translated(po.read_text("utf-8")), "utf-8")
        compiled = f"python -m assistant.tools.catalogue compile {Path(GERMAN).parent}"
        wrong.append(fault(Step(0, compiled), folder))
    return [each for each in wrong if each]


def checked(recipe: Recipe, folder: Path) -> list[str]:
    """What is red in the folder; a test that was left out can't be."""
    there = [file for file in recipe.checks if (folder / file).is_file()]
    done = run(f"{shlex.quote(sys.executable)} -m pytest -q -n0 -x -rfE {' '.join(there)}", folder)
    if not done.returncode:
        return []
    red = [line for line in done.stdout.splitlines() if line.startswith(("FAILED", "ERROR"))]
    return red or [done.stdout[-800:] + done.stderr[-800:]]


@pytest.mark.release
@pytest.mark.slow(120)
@pytest.mark.apart
@pytest.mark.parametrize(("name", "left_out"), CASES, ids=[f"{n}: {out}" for n, out in CASES])
def test_whatever_is_left_out_is_red(name: str, left_out: str, tmp_path: Path) -> None:
    """On the way, or in the checks afterwards; and nothing is red where nothing is left out."""
    folder, recipe = copied(tmp_path / "tallyhand"), RECIPES[name]
    red = make(recipe, left_out, folder)
    red = red or checked(recipe, folder)
    print(f"{name} without {left_out}: {red}")
    assert bool(red) is (left_out != NOTHING), red


def test_each_piece_is_one_of_the_page() -> None:
    """None is left out that nobody writes; every file that is written by hand is left out."""
    for recipe in RECIPES.values():
        by_hand = {touched(step) for step in followed(recipe.heading)} - {""}
        assert by_hand - {"brief.toml"} == set(recipe.pieces) - {GERMAN, *recipe.instead}


def test_a_sentence_that_waits_is_filled() -> None:
    """One, and one with a plural; what is translated stays."""
    waits = 'msgid "{count} grooves"\nmsgstr ""\n\n'
    assert translated(waits) == 'msgid "{count} grooves"\nmsgstr "{count} grooves"\n\n'
    two = 'msgid "a"\nmsgid_plural "{count} b"\nmsgstr[0] ""\nmsgstr[1] ""\n\n'
    assert translated(two).endswith('msgstr[0] "a"\nmsgstr[1] "a"\n\n')
    done = 'msgid "a"\nmsgstr "b"\n\n'
    assert translated(done) == done
