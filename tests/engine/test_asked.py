"""The one table of what may be asked or answered: nothing of it can be left out unseen."""

from __future__ import annotations

import re

import pytest

from assistant.engine import asked, wording
from assistant.engine.asked import ACTS, COMMANDS, INTENTS, KEYS, Act, Command, Use, used_as
from assistant.engine.phases import ANSWERS, ON_THE_WAY, Step
from assistant.engine.transitions import TABLE
from assistant.hearing.classifier.classifier import load_classifier
from assistant.hearing.model_files import SHIPPED
from assistant.page.document import bench_page
from tests.docs import asked as rows

PRESSED = {" ", "\r", "\n"}


def test_everything_has_its_row() -> None:
    """What is not in the table has no phrase, no key, no button, and no line in the README."""
    assert set(COMMANDS) == set(Command)
    assert set(ACTS) == set(Act)


@pytest.mark.parametrize("command", Command)
def test_what_is_no_answer_is_shown(command: Command) -> None:
    """By a key with its hint, or by the act that it shares its key with; and in the README."""
    row = COMMANDS[command]
    if row.use is Use.ANSWER:
        assert row.shown is None and command in {*ANSWERS.values(), *ON_THE_WAY}
        return
    shown = row.shown
    assert shown is not None and shown.wants
    assert bool(shown.key) is bool(shown.hint)
    assert shown.key or command is Command.NOTE  # n, with what is written


def test_no_two_share_a_key_or_a_button() -> None:
    """And no key is one that means a press."""
    keys = [shown.key for shown in asked.everything().values() if shown.key]
    assert len(set(keys)) == len(keys) and not PRESSED & set(keys)
    assert all(len(key) == 1 for key in KEYS)
    labels = list(asked.on_the_page().values())
    assert len(set(labels)) == len(labels)


def test_every_question_is_answered_and_every_answer_asked_for() -> None:
    """A question without a sentence would end the session where it is first asked."""
    wanted = {INTENTS[command] for command in used_as(Use.QUESTION, Use.BESIDE)}
    assert set(wording.REPLIES) == wanted


@pytest.mark.parametrize("command", list(INTENTS))
def test_the_transition_table_heeds_every_command(command: Command) -> None:
    """Questions and what is taken beside one at every step; another way at one at the least."""
    always = COMMANDS[command].use in (Use.QUESTION, Use.BESIDE)
    heeded = [step for step in Step if (step, INTENTS[command]) in TABLE]
    assert len(heeded) == len(Step) if always else heeded


def test_the_page_has_a_button_for_each() -> None:
    """In the order of the table, each with its label."""
    made = bench_page(None, None, "", "").decode()
    found = re.findall(r'data-(?:command|act)="([a-z-]+)" disabled>([^<]+)<', made)
    wanted = [(what.value, label) for what, label in asked.on_the_page().items()]
    assert [each for each in found if each[0] != "figure"] == wanted


def test_the_help_names_every_key() -> None:
    """At the foot of the screen, each with what it does."""
    line = asked.help_line()
    for shown in asked.everything().values():
        assert f"{shown.key} {shown.hint}" in line


@pytest.mark.parametrize("page", rows.tables(), ids=lambda page: page.name)
def test_the_rows_of_the_pages_are_those_of_the_table(page: rows.Path) -> None:
    """Made by `python -m tests.docs.asked`."""
    assert page.read_text("utf-8") == rows.filled(page)


def test_what_the_ear_has_not_learned_says_so() -> None:
    """A phrase is `learned` from the training on that taught it to the shipped ear, not before."""
    known = set(load_classifier(SHIPPED).labels)
    for command, row in COMMANDS.items():
        assert row.learned is (row.phrase.lower() in known), command
