"""The page of messages is made from the code, and in step with it."""

from __future__ import annotations

from pathlib import Path

from assistant import messages

PAGE = Path(__file__).parents[2] / "docs" / "messages.md"


def test_the_page_is_in_step_with_the_code() -> None:
    """Run `python -m assistant.messages docs/messages.md` after a change of words."""
    assert PAGE.read_text("utf-8") == messages.page()


def test_all_kinds_of_message_are_on_it() -> None:
    """One of each, as it stands in the code: said, shown, refused, found, printed."""
    page = messages.page()
    parts = page.split("\n## ")
    assert "- `Lock the spindle.`" in parts[1]
    assert "- `spindle: LOCKED`" in parts[2]
    assert "- `{name!r}: known heads are {known_heads}`" not in page
    assert "no unfinished job in {folder}: begin one with: tallyhand run JOB" in parts[3]
    assert "no speech engine" in parts[4]


def test_what_is_said_is_short() -> None:
    """A sentence of a session is heard once, over a machine: 30 words at the most."""
    for text in messages._session()[0]:
        for form in text.split(" | "):
            for sentence in form.replace(": ", ". ").replace("; ", ". ").split(". "):
                assert len(sentence.split()) <= 30, sentence
