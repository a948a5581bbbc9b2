"""What a person can ask, set or have made is named where it is looked for: nothing comes unseen."""

from __future__ import annotations

import tomllib
from dataclasses import fields

import pytest

from assistant.engine.asked import COMMANDS, Command
from assistant.files.sections import SECTIONS, remark
from assistant.job.kinds.by_name import KINDS
from tests.commands import ROOT
from tests.docs import settings
from tests.make import untranslated

CHANGES = (ROOT / "docs" / "changelog.md").read_text("utf-8")
SAMPLE = (ROOT / "config" / "tallyhand.toml").read_text("utf-8")
SETTINGS = [(name, each.name) for name, made in SECTIONS.items() for each in fields(made)]


@pytest.mark.parametrize("phrase", [row.phrase for row in COMMANDS.values() if row.shown])
def test_a_phrase_is_told_of(phrase: str) -> None:
    """In the list of changes, by the version that brought it."""
    assert f"“{phrase}”".lower() in CHANGES.lower()


@pytest.mark.parametrize(("section", "key"), SETTINGS)
def test_a_setting_is_told_of(section: str, key: str) -> None:
    """In the list of changes, and with its default in the file that is copied to begin with."""
    default = getattr(SECTIONS[section](), key)
    assert tomllib.loads(SAMPLE)[section][key] == default
    assert key in CHANGES


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


def test_the_shipped_languages_have_every_phrase_and_sentence() -> None:
    """`python -m tests.make` names what waits for a translator."""
    assert not any(untranslated().values())
    for file in (ROOT / "config" / "language").glob("*/phrases.toml"):
        found = tomllib.loads(file.read_text("utf-8"))
        assert {Command(name) for name in found if name != "format"} == set(Command)
