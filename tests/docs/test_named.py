"""What a person can ask, set or have made is named where it is looked for: nothing comes unseen."""

from __future__ import annotations

import ast
import re
import tomllib
from dataclasses import fields
from functools import cache
from pathlib import Path

import pytest

from assistant.engine.asked import COMMANDS, INTENTS, Command
from assistant.files.sections import SECTIONS, remark
from assistant.job.kinds.by_name import KINDS
from tests.commands import ROOT
from tests.docs import settings
from tests.make import untranslated

CHANGES = (ROOT / "docs" / "changelog.md").read_text("utf-8")
SAMPLE = (ROOT / "config" / "tallyhand.toml").read_text("utf-8")
SETTINGS = [(name, each.name) for name, made in SECTIONS.items() for each in fields(made)]
_ATEST = re.compile(r"^(?:    )?def test_\w+\([^)]*\) -> None:", re.MULTILINE)
HEEDED = [(section, key) for section, key in SETTINGS if section != "measured"]


@cache
def _names(file: Path) -> frozenset[str]:
    """Attributes, keywords and the words in texts of a file."""
    found = set[str]()
    for node in ast.walk(ast.parse(file.read_text("utf-8"))):
        if isinstance(node, ast.Attribute):
            found.add(node.attr)
        elif isinstance(node, ast.keyword) and node.arg:
            found.add(node.arg)
        elif isinstance(node, ast.Constant) and isinstance(node.value, str):
            found |= set(re.findall(r"[a-z_]+", node.value))
    return frozenset(found)


@cache
def _tests() -> dict[Path, str]:
    """Files with tests in them, this one aside: it goes through the lists alone."""
    files = [file for file in (ROOT / "tests").rglob("test_*.py") if file.name != "test_named.py"]
    texts = {file: file.read_text("utf-8") for file in files}
    return {file: text for file, text in texts.items() if _ATEST.search(text)}


def test_no_test_stands_where_none_is_looked_for() -> None:
    """Files of tests begin with `test_`; a test in another would never be run."""
    for file in (ROOT / "tests").rglob("*.py"):
        if not file.name.startswith("test_"):
            assert not _ATEST.search(file.read_text("utf-8")), file


@pytest.mark.parametrize("phrase", [row.phrase for row in COMMANDS.values() if row.shown])
def test_a_phrase_is_told_of(phrase: str) -> None:
    """In the list of changes, by the version that brought it."""
    assert f"“{phrase}”".lower() in CHANGES.lower()


@pytest.mark.parametrize(("section", "key"), SETTINGS)
def test_a_setting_is_told_of(section: str, key: str) -> None:
    """In the list of changes, and with its default in the file that is copied to begin with."""
    default = getattr(SECTIONS[section](), key)
    assert tomllib.loads(SAMPLE)[section][key] == default
    assert re.search(rf"`[^`]*\b{key}\b[^`]*`", CHANGES)


@pytest.mark.parametrize(("section", "key"), HEEDED)
def test_a_setting_is_heeded(section: str, key: str) -> None:
    """Something in the program reads it, beside the file that says what it may be."""
    files = [file for file in (ROOT / "assistant").rglob("*.py") if file.name != "sections.py"]
    assert any(key in _names(file) for file in files), f"[{section}] {key} does nothing"


@pytest.mark.parametrize(("section", "key"), HEEDED)
def test_a_setting_has_a_test(section: str, key: str) -> None:
    """A file of tests names it together with its section."""
    held = re.compile(rf"\b({section}|{SECTIONS[section].__name__})\b")
    where = [file for file, text in _tests().items() if key in _names(file) and held.search(text)]
    assert where, f"no test sets [{section}] {key}"


@pytest.mark.parametrize("command", Command)
def test_a_command_has_a_test(command: Command) -> None:
    """A file of tests gives it, by name or by phrase."""
    intent = INTENTS.get(command)
    names = [rf"Command\.{command.name}\b", re.escape(COMMANDS[command].phrase)]
    names += [rf"Intent\.{intent.name}\b"] if intent else []
    assert any(re.search("|".join(names), text) for text in _tests().values())


def test_the_settings_file_is_made_from_the_settings() -> None:
    """`python -m tests.make` writes it: its remarks and what each may be."""
    assert settings.FILE.read_text("utf-8") == settings.filled()


@pytest.mark.parametrize("section", sorted(set(SECTIONS) - {"measured"}))
def test_a_setting_says_what_it_is_and_may_be(section: str) -> None:
    """In the remark beside it: every choice, or both ends."""
    for each in fields(SECTIONS[section]):
        told = remark(each)
        assert told, each.name
        assert all(choice in told for choice in each.metadata.get("one_of", ())), each.name
        ends = each.metadata.get("between", ())
        assert all(f"{end:.10g}" in told for end in ends), each.name


@pytest.mark.parametrize("kind", KINDS)
def test_a_kind_is_told_of(kind: str) -> None:
    """In the list of changes, in that of the kinds, and by a job: shipped, or its page's own."""
    assert f"`{kind}`" in CHANGES
    assert f"[`{kind}`](work/{kind}.md)" in (ROOT / "docs" / "kinds.md").read_text("utf-8")
    jobs = [file.read_text("utf-8") for file in (ROOT / "config" / "jobs").glob("*.toml")]
    jobs.append((ROOT / "docs" / "work" / f"{kind}.md").read_text("utf-8"))
    assert any(f'kind = "{kind}"' in text for text in jobs)


@pytest.mark.parametrize("kind", KINDS)
def test_a_kind_has_a_test_and_its_drawing(kind: str) -> None:
    """A file of tests makes one, by its module or by a job; its page shows what comes of it."""
    module = kind.replace("-", "_")
    made = re.compile(rf'kinds(\.| import .*){module}\b|kind = "{kind}"')
    assert any(made.search(text) for text in _tests().values())
    page = (ROOT / "docs" / "work" / f"{kind}.md").read_text("utf-8")
    assert f"(../pictures/work-{kind}.svg)" in page
    assert (ROOT / "docs" / "pictures" / f"work-{kind}.svg").is_file()


def test_the_shipped_languages_have_every_phrase_and_sentence() -> None:
    """`python -m tests.make` names what waits for a translator."""
    assert not any(untranslated().values())
    for file in (ROOT / "config" / "language").glob("*/phrases.toml"):
        found = tomllib.loads(file.read_text("utf-8"))
        assert {Command(name) for name in found if name != "format"} == set(Command)
