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
    assert "- `Now say: {PHRASE}.`" in parts[3]
    assert "no unfinished job in {folder}: begin one with: tallyhand run JOB" in parts[4]
    assert "no speech engine" in parts[5]


def test_what_is_said_is_short() -> None:
    """A sentence of a session is heard once, over a machine: 30 words at the most."""
    for text in messages._session()[0]:
        for form in text.split(" | "):
            for sentence in form.replace(": ", ". ").replace("; ", ". ").split(". "):
                assert len(sentence.split()) <= 30, sentence


def test_no_text_of_the_program_is_left_out() -> None:
    """Also what is asked, what a line is put together from, and help; no markup, no query."""
    parts = {part.splitlines()[0]: part for part in messages.page().split("\n## ")[1:]}
    assert all(part.count("\n- ") >= 10 for part in parts.values()), parts.keys()
    within = {
        "Asked and told": "- `Which one is yours?`",
        "Parts of plans": "- `nothing simpler is exact`",
        "Parts of errors": "- `the sound system does not answer`",
        "Help": "- `teach which key the pedal is`",
    }
    for title, text in within.items():
        (part,) = [each for name, each in parts.items() if name.startswith(title)]
        assert text in part
    shown = "\n".join(parts.values())
    assert "SELECT" not in shown and "</" not in shown and "stroke-width" not in shown
